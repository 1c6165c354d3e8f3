/* Plays lumenmap flash images on a small board: portable C99, usable from C++, no allocation.
 *
 * You supply four functions. `read` copies octets of an image (you number them, from 0) and returns
 * 0 if it could; `show` sends the codes of a data line to its pixels, in wire order; `millis` counts
 * milliseconds and may wrap; `yield` lets the rest of the board run and may do nothing.
 *
 *   static lmp player;
 *   static uint8_t memory[LMP_MEMORY(3 * 500, 64)];
 *   lmp_init(&player, &board, memory, sizeof memory, 1);
 *   lmp_play(&player, 0);
 *   for (;;)
 *       lmp_step(&player);
 *
 * Each second of a show is read and its CRC checked before the first of its frames is shown. A
 * frame is shown only if the sums of its codes are within the caps that the exporter wrote. On any
 * error everything goes black, and the show is tried again after a while.
 */
#ifndef LUMENMAP_PLAYER_H
#define LUMENMAP_PLAYER_H

#include "caps.h"
#include "year.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Memory for frames of so many octets (pixels * channels) and so many octets of zones (lmc_size);
 * board.h has the number for your house. */
#define LMP_MEMORY(frame, zones) (2u * (frame) + (zones))

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

/* `lines`: data lines of the board, made black when no image says how long they are. */
void lmp_init(lmp *p, const lmp_board *board, uint8_t *memory, uint32_t size, unsigned lines);
/* Plays an image in a loop, from its start. What plays now goes on until the other is ready. */
void lmp_play(lmp *p, uint32_t image);
void lmp_stop(lmp *p);                   /* dark */
void lmp_set_level(lmp *p, uint8_t level); /* brightness of stored shows; 255 is all of it */
lmp_state lmp_step(lmp *p);              /* does what is due; call it again and again */

/* Evenings: the table of the year says what plays (year.h). Without a known time its default does.
 * Set the time of day (UTC, seconds since 1970) whenever you learn it. */
void lmp_follow_table(lmp *p);
void lmp_set_time(lmp *p, uint32_t utc);
void lmp_lose_time(lmp *p);
uint32_t lmp_time(const lmp *p); /* 0 if it isn't known */

/* Frames from outside (live.h uses these). lmp_live_begin gives the frame to fill, black at first
 * and in wire order, or NULL while no image has said what the lines and caps are. lmp_live_show
 * dims it, if need be, until its sums are within the caps. */
uint8_t *lmp_live_begin(lmp *p);
void lmp_live_show(lmp *p);
void lmp_live_end(lmp *p);

/* For the parts of the player among themselves. */
int lmp_fetch(lmp *p); /* the next frame; 0 if its second isn't checked yet */
void lmp_prepare(lmp *p, uint32_t now);
void lmp_change(lmp *p, uint32_t now);
void lmp_ask(lmp *p, const lmp_want *want);
void lmp_fail(lmp *p, int error);
void lmp_black(lmp *p);
void lmp_keep_time(lmp *p, uint32_t now);
void lmp_evening(lmp *p, uint32_t now);

/* For a status lamp: 1 while it should be lit. Flashes, then a pause: 1 playing, 2 live, 3 dark by
 * the table or stopped, 4 the time isn't known (the default plays, if there is one), 5 no good
 * image, 6 a fault of reading, 7 the table is over or damaged; none while an image is opened. */
unsigned lmp_lamp(const lmp *p);
unsigned lmp_flashes(const lmp *p);

#ifdef __cplusplus
}
#endif

#endif
