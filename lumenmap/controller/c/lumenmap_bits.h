/* What the decoder's files share: numbers, CRC and bits; not for other programs. */
#ifndef LUMENMAP_BITS_H
#define LUMENMAP_BITS_H

#include "lumenmap_image.h"

uint32_t lmfi_u32(const uint8_t *p);
uint32_t lmfi_crc32(uint32_t crc, const uint8_t *p, uint32_t n); /* start: all ones; end: flip */

void lmfi_start_bits(lmfi *d, uint32_t offset, uint32_t size);
int lmfi_fill(lmfi *d); /* the next octets into the buffer, and into the CRC */
/* At least 16 bits into the window, as far as there are any; the rest of it is 0. */
void lmfi_refill(lmfi *d);
uint32_t lmfi_bits(lmfi *d, unsigned n); /* at most 16 */

/* Past the end every bit is 0 and `broken` tells; loops stay bounded by their own counts. */
static inline void lmfi_use(lmfi *d, unsigned n)
{
    if (n > d->ready) {
        if (!d->broken)
            d->broken = (uint8_t)-LMFI_CORRUPT;
        d->window = 0;
        d->ready = 0;
        return;
    }
    d->window <<= n;
    d->ready = (uint8_t)(d->ready - n);
}

#endif
