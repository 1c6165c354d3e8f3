/* The table of the year: what plays from when to when, worked out beforehand. PROTOCOL.md describes it.
 *
 * The whole table is read and its CRC checked at each look, so that an answer is never taken from a
 * damaged one; ask again when `until` says that the answer may change.
 */
#ifndef LUMENMAP_YEAR_H
#define LUMENMAP_YEAR_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
    LMY_PLAY = 0,
    LMY_DARK = 1,     /* nothing plays now */
    LMY_OVER = 2,     /* the moment isn't in the table's year */
    LMY_READ = -1,
    LMY_FORMAT = -2,
    LMY_CORRUPT = -3
};

enum { LMY_HEAD = 24, LMY_ENTRY = 12, LMY_IMAGES = 64, LMY_NO_IMAGE = 255 };

typedef struct {
    uint32_t begun; /* when the show's first frame was due, UTC */
    uint32_t until; /* when to look again, UTC */
    uint32_t id;    /* the image's, as lmfi has it */
    uint8_t image;
    uint8_t level;  /* brightness, 0 to 255 */
} lmy_piece;

typedef int (*lmy_reader)(void *user, uint32_t offset, void *to, uint32_t size);

/* What plays at a moment. */
int lmy_look(lmy_reader read, void *user, uint32_t utc, lmy_piece *piece);
/* What plays when the moment isn't known. */
int lmy_default(lmy_reader read, void *user, lmy_piece *piece);

#ifdef __cplusplus
}
#endif

#endif
