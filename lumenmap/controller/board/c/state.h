/* What the player is doing: its state, and how it goes from one to another. player.h is what a
 * program calls; player.c, change.c and evening.c stand on this. */
#ifndef LUMENMAP_STATE_H
#define LUMENMAP_STATE_H

#include "caps.h"
#include "year.h"

enum {
    LMP_RETRY_MS = 5000,  /* after an error the show is tried again so much later */
    LMP_SLICE = 1024,     /* octets checked in one step while nothing is due */
    LMP_TIME_DAYS = 7,    /* a time of day is trusted for so long after it was set */
    LMP_NOTHING = 0x7fff, /* no image: dark */
    LMP_TABLE = 0x7ffe    /* the number by which `read` knows the year's table */
};

typedef struct {
    int (*read)(void *user, uint32_t image, uint32_t offset, void *to, uint32_t size);
    void (*show)(void *user, unsigned line, const uint8_t *codes, uint32_t size);
    uint32_t (*millis)(void *user);
    void (*yield)(void *user);
    void *user;
} lmp_board;

typedef enum {
    LMP_DARK,    /* nothing is to play now */
    LMP_OPENING, /* an image is being opened and checked; what was shown stays */
    LMP_PLAYING,
    LMP_LIVE,    /* frames come from outside */
    LMP_ERROR    /* black; `error` says why */
} lmp_state;

enum { LMP_NONE, LMP_ASKED, LMP_CHECKING, LMP_READY };
enum { LMP_OVER = -5, LMP_OTHER = -6 }; /* a frame over its caps; not the show of the table */

typedef struct {
    const struct lmp *player;
    uint32_t image;
} lmp_file;

typedef struct {
    uint32_t image, id, begun; /* begun: when its first frame was due, ms */
    uint8_t has_id, has_begun;
    uint8_t only_setup;        /* opened for its lines and caps, and not played */
} lmp_want;

typedef struct lmp {
    lmp_state state;
    int error;               /* of the last image; LMFI_ and LMP_ numbers */
    uint32_t image;          /* what plays, or LMP_NOTHING */
    uint32_t shown, dropped; /* frames so far */

    /* From here on the player's own. */
    lmp_board board;
    uint8_t *memory, *frame, *out;
    uint32_t memory_size;
    unsigned black_lines;
    uint8_t level;       /* brightness 0 to 255 */
    uint8_t loaded;      /* setup holds a house's lines and caps */
    uint8_t ready;       /* frame holds what is to be shown next */
    uint8_t which;       /* the decoder that plays; the other one opens what comes */
    lmfi decoder[2];
    lmp_file file[2];
    lmfi_check check[2]; /* of the playing image's next segment; of the coming one's first */
    int check_state[2];  /* LMFI_OK: going on; LMFI_END: good; else an error */
    lmc_setup setup;
    uint32_t due, part;    /* when the next frame is due, ms, and the rest in 1/rate_num ms */
    uint32_t retry;        /* when to try again, ms */
    uint8_t coming;        /* what of `want` is done: LMP_NONE to LMP_READY */
    lmp_want want;         /* what is to play */
    uint32_t coming_due;

    /* Evenings. */
    uint8_t follows, time_known, look;
    uint32_t utc, utc_ms;  /* the time of day at utc_ms */
    uint32_t age, look_at; /* seconds since it was set; when to look in the table again */
    uint32_t piece_begun;
    int table;             /* what the table said last */
} lmp;

#ifdef __cplusplus
extern "C" {
#endif

void lmp_ask(lmp *p, const lmp_want *want); /* the next thing to play; it is prepared step by step */
void lmp_stop(lmp *p);                      /* dark */
void lmp_fail(lmp *p, int error);           /* black, and try again later */
void lmp_black(lmp *p);
void lmp_send(lmp *p);                      /* `out` to the pixels */

#ifdef __cplusplus
}
#endif

#endif
