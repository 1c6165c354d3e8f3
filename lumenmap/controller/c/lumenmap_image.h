/* An image as the decoder holds it: its types, sizes and error codes. See lumenmap_flash.h. */
#ifndef LUMENMAP_IMAGE_H
#define LUMENMAP_IMAGE_H

#include <stdint.h>

enum {
    LMFI_OK = 0,
    LMFI_END = 1,      /* no frame after the last one; no octet left to check */
    LMFI_READ = -1,    /* the read function failed */
    LMFI_FORMAT = -2,  /* not an image, or a version this decoder does not know */
    LMFI_CORRUPT = -3, /* the octets are not those that were written */
    LMFI_RANGE = -4    /* no such frame or line, or more of something than there is room for */
};

enum {
    LMFI_HEAD = 76,      /* octets of the header's fixed part */
    LMFI_LINE = 24,      /* of a line in it */
    LMFI_NAME = 32,
    LMFI_CAPS = 16,      /* budgets at most */
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
    uint32_t first, count; /* pixels */
    uint16_t universe;     /* the line's first */
    char order[5];         /* its channels as the wire carries them, as "GRB" */
    uint16_t weight[4];    /* what a code of each of them counts for in the sums of the caps */
} lmfi_span;

/* A segment whose octets are being checked. */
typedef struct {
    uint32_t segment, offset, size, wanted;
    uint32_t at, crc;
    uint8_t good;
} lmfi_check;

typedef struct {
    uint32_t frames, pixels, rate_num, rate_den; /* rate_num / rate_den frames a second */
    uint32_t segment;                            /* frames a segment, at most a second */
    uint32_t zones;
    uint32_t id;            /* CRC of the header: no two shows share it */
    uint16_t lines;
    uint8_t channels, loss; /* loss: the most code steps a code may be off */
    uint8_t caps;
    char name[LMFI_NAME + 1];
    uint32_t frame;         /* the frame that lmfi_next gives */

    /* From here on the decoder's own. */
    lmfi_reader read;
    void *user;
    uint32_t header, size, index, setup_crc; /* setup_crc: of the lines and caps */
    uint32_t at, end, crc, crc_wanted; /* the segment's octets not yet in the buffer */
    uint32_t window;                   /* bits read and not yet used, from the top down */
    uint16_t held, used;               /* octets held and used of them */
    uint8_t ready;                     /* bits in the window */
    uint8_t tables, broken, begun;
    uint8_t buffer[LMFI_BUFFER];
    uint8_t context[LMFI_CONTEXTS];
    uint8_t kind_count[16], kind[LMFI_KINDS];
    uint8_t length_count[4][16], length[4][LMFI_LENGTHS]; /* exact, copy, literal, distance */
    uint8_t residual_count[LMFI_TABLES][16], residual[LMFI_TABLES][LMFI_RESIDUALS];
} lmfi;

#endif
