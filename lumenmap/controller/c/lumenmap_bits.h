/* What lumenmap_flash.c (the image) and lumenmap_decode.c (its bits) share; not for other files. */
#ifndef LUMENMAP_BITS_H
#define LUMENMAP_BITS_H

#include "lumenmap_flash.h"

uint32_t lmfi_u32(const uint8_t *p);
uint32_t lmfi_crc32(uint32_t crc, const uint8_t *p, uint32_t n); /* start: all ones; end: flip */

void lmfi_start_bits(lmfi *d, uint32_t offset, uint32_t size);
int lmfi_fill(lmfi *d); /* the next octets into the buffer, and into the CRC */
uint32_t lmfi_bits(lmfi *d, unsigned n); /* at most 16 */
int lmfi_read_tables(lmfi *d);
int lmfi_decode(lmfi *d, uint8_t *frame);

#endif
