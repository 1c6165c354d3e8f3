/* Reference decoder of the lumenmap flash image (FORMAT.md), portable C99.
 *
 * No allocation, no dependencies, no recursion. Memory: one frame buffer of yours
 * (lmfi_frame_size octets) and one lmfi, under 2 KB. Any octets may be given: an image that is cut
 * short or damaged ends in an error code, never in a read or write outside these two.
 *
 *   static lmfi show;
 *   static uint8_t frame[3 * 500];
 *   if (lmfi_open(&show, my_read, NULL, image_size) == LMFI_OK
 *       && lmfi_frame_size(&show) <= sizeof frame
 *       && lmfi_seek(&show, 0, frame) == LMFI_OK)
 *       do send_to_pixels(frame); while (lmfi_next(&show, frame) == LMFI_OK);
 */
#ifndef LUMENMAP_FLASH_H
#define LUMENMAP_FLASH_H

#include <stdint.h>

enum {
    LMFI_OK = 0,
    LMFI_END = 1,      /* no frame after the last one */
    LMFI_READ = -1,    /* the read function failed */
    LMFI_FORMAT = -2,  /* not an image, or a version this decoder does not know */
    LMFI_CORRUPT = -3, /* the octets are not those that were written */
    LMFI_RANGE = -4    /* no such frame or line */
};

enum {
    LMFI_PREDICTORS = 13,
    LMFI_KINDS = 27,
    LMFI_LENGTHS = 43,
    LMFI_RESIDUALS = 26,
    LMFI_CONTEXTS = 56,
    LMFI_TABLES = 24,
    LMFI_BUFFER = 128
};

/* Copies `size` octets from `offset` of the image to `to`; returns 0 if it could. */
typedef int (*lmfi_reader)(void *user, uint32_t offset, void *to, uint32_t size);

typedef struct {
    uint32_t frames, pixels, rate_num, rate_den; /* rate_num / rate_den frames a second */
    uint32_t segment;                            /* frames a segment, at most a second */
    uint32_t lines;
    uint8_t channels, loss; /* loss: the most code steps a code may be off */
    uint32_t frame;         /* the frame that lmfi_next gives */

    /* From here on the decoder's own. */
    lmfi_reader read;
    void *user;
    uint32_t header, size, index;
    uint32_t at, end, crc, crc_wanted; /* the segment's octets not yet in the buffer */
    uint32_t held, bits;               /* octets held and bits used of them */
    uint8_t tables, broken;
    uint8_t buffer[LMFI_BUFFER];
    uint8_t context[LMFI_CONTEXTS];
    uint8_t kind_count[16], kind[LMFI_KINDS];
    uint8_t length_count[4][16], length[4][LMFI_LENGTHS]; /* exact, copy, literal, distance */
    uint8_t residual_count[LMFI_TABLES][16], residual[LMFI_TABLES][LMFI_RESIDUALS];
} lmfi;

int lmfi_open(lmfi *d, lmfi_reader read, void *user, uint32_t size);
uint32_t lmfi_frame_size(const lmfi *d); /* octets: pixels * channels */
int lmfi_line(lmfi *d, uint32_t number, uint32_t *first, uint32_t *count);
int lmfi_seek(lmfi *d, uint32_t frame, uint8_t *buffer); /* decodes `frame` */
int lmfi_next(lmfi *d, uint8_t *buffer);                 /* decodes the one after, in place */
int lmfi_verify(lmfi *d);                                /* reads all; lmfi_seek before going on */

#endif
