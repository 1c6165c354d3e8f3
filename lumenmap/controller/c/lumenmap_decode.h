/* The tables of an image and its frames from bits; for lumenmap_flash.c. */
#ifndef LUMENMAP_DECODE_H
#define LUMENMAP_DECODE_H

#include "lumenmap_image.h"

int lmfi_read_tables(lmfi *d);
int lmfi_decode(lmfi *d, uint8_t *frame);

#endif
