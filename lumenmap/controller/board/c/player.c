/* Plays flash images: pacing, showing, black on any error. See player.h; change.c opens them. */
#include "player.h"

#include "change.h"

#include <string.h>

enum { LATE_MS = 1500 }; /* a show later than this goes on from here instead of catching up */

void lmp_init(lmp *p, const lmp_board *board, uint8_t *memory, uint32_t size, unsigned lines)
{
    memset(p, 0, sizeof *p);
    p->board = *board;
    p->memory = p->frame = p->out = memory;
    p->memory_size = size;
    p->black_lines = lines;
    p->image = p->want.image = LMP_NOTHING;
    p->level = 255;
    p->file[0].player = p->file[1].player = p;
    lmp_black(p);
}

void lmp_play(lmp *p, uint32_t image)
{
    lmp_want want = { 0, 0, 0, 0, 0, 0 };
    want.image = image;
    p->follows = 0;
    lmp_ask(p, &want);
}

void lmp_set_level(lmp *p, uint8_t level)
{
    p->level = level;
}

/* Milliseconds to the next frame; what is left of one is kept for the next. */
static uint32_t frame_ms(lmp *p, const lmfi *d)
{
    const uint64_t all = 1000 * (uint64_t)d->rate_den + p->part;
    p->part = (uint32_t)(all % d->rate_num);
    return (uint32_t)(all / d->rate_num);
}

static void show_frame(lmp *p)
{
    const uint32_t size = p->setup.pixels * p->setup.channels;
    memcpy(p->out, p->frame, (size_t)size);
    lmc_dim(p->out, size, p->level + 1u);
    if (lmc_share(&p->setup, p->out) < 256) {
        lmp_fail(p, LMP_OVER);
        return;
    }
    lmp_send(p);
    p->shown++;
}

static void play(lmp *p, uint32_t now)
{
    lmfi *d;
    uint32_t late, wait;
    if (!p->ready && !lmp_fetch(p))
        return;
    if (now - p->due >= 0x80000000u)
        return; /* not yet */
    if (p->coming == LMP_READY)
        lmp_change(p, now);
    if (!p->ready)
        return;
    d = &p->decoder[p->which];
    late = now - p->due;
    if (late > LATE_MS) {
        p->due = now;
        p->part = 0;
        late = 0;
    }
    wait = frame_ms(p, d);
    p->due += wait;
    p->ready = 0;
    if (late >= wait && late > 1)
        p->dropped++;
    else
        show_frame(p);
    if (p->state == LMP_PLAYING && p->check_state[p->which] == LMFI_OK) {
        const lmfi_check *check = &p->check[p->which];
        p->check_state[p->which] =
            lmfi_check_some(d, &p->check[p->which], 2 * (check->size / d->segment) + 64);
    }
}

lmp_state lmp_step(lmp *p)
{
    const uint32_t now = p->board.millis(p->board.user);
    lmp_keep_time(p, now);
    if (p->follows)
        lmp_evening(p, now);
    if (p->state != LMP_LIVE) {
        if (p->state == LMP_ERROR && p->coming == LMP_NONE && p->want.image != LMP_NOTHING
            && now - p->retry < 0x80000000u) {
            const lmp_want again = p->want;
            lmp_ask(p, &again);
        }
        if (p->coming != LMP_NONE)
            lmp_prepare(p, now);
        if (p->state == LMP_PLAYING)
            play(p, now);
    }
    p->board.yield(p->board.user);
    return p->state;
}

uint8_t *lmp_live_begin(lmp *p)
{
    if (!p->loaded)
        return 0;
    memset(p->frame, 0, (size_t)p->setup.pixels * p->setup.channels);
    p->ready = 0;
    p->state = LMP_LIVE;
    return p->frame;
}

void lmp_live_show(lmp *p)
{
    const uint32_t size = p->setup.pixels * p->setup.channels;
    memcpy(p->out, p->frame, (size_t)size);
    lmc_dim(p->out, size, lmc_share(&p->setup, p->out));
    lmp_send(p);
    p->shown++;
}

void lmp_live_end(lmp *p)
{
    if (p->state != LMP_LIVE)
        return;
    if (p->want.image == LMP_NOTHING || p->want.only_setup) {
        p->state = LMP_DARK;
        lmp_black(p);
    } else {
        const lmp_want again = p->want;
        p->state = LMP_OPENING;
        lmp_ask(p, &again);
    }
}
