/* Plays flash images: opening, checking, pacing, showing. See player.h. */
#include "player.h"
#include "lumenmap_bits.h"

#include <string.h>

enum { LATE_MS = 1500 }; /* a show later than this goes on from here instead of catching up */

static int read_file(void *user, uint32_t offset, void *to, uint32_t size)
{
    const lmp_file *f = (const lmp_file *)user;
    return f->player->board.read(f->player->board.user, f->image, offset, to, size);
}

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

static void send(lmp *p)
{
    unsigned i;
    for (i = 0; i < p->setup.lines; i++) {
        const lmfi_span *line = &p->setup.line[i];
        p->board.show(p->board.user, i, p->out + (size_t)line->first * p->setup.channels,
                      line->count * p->setup.channels);
    }
}

/* Everything dark, also before any image has said how long the lines are. */
void lmp_black(lmp *p)
{
    unsigned i;
    p->ready = 0;
    memset(p->memory, 0, (size_t)(p->loaded ? 2 * p->setup.pixels * p->setup.channels
                                            : p->memory_size));
    if (p->loaded)
        send(p);
    else
        for (i = 0; i < p->black_lines; i++)
            p->board.show(p->board.user, i, p->memory, p->memory_size / 2);
}

void lmp_fail(lmp *p, int error)
{
    p->error = error;
    p->state = LMP_ERROR;
    p->coming = LMP_NONE;
    p->retry = p->board.millis(p->board.user) + LMP_RETRY_MS;
    lmp_black(p);
}

void lmp_ask(lmp *p, const lmp_want *want)
{
    p->want = *want;
    p->coming = LMP_ASKED;
    if (p->state == LMP_DARK || p->state == LMP_ERROR)
        p->state = want->only_setup ? p->state : LMP_OPENING;
}

void lmp_play(lmp *p, uint32_t image)
{
    lmp_want want = { 0, 0, 0, 0, 0, 0 };
    want.image = image;
    p->follows = 0;
    lmp_ask(p, &want);
}

void lmp_stop(lmp *p)
{
    p->coming = LMP_NONE;
    p->want.image = p->image = LMP_NOTHING;
    if (p->state == LMP_LIVE)
        return;
    p->state = LMP_DARK;
    lmp_black(p);
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

/* Where a show that began at want.begun is now: the segment to start from, and when it was due. */
static uint32_t place(lmp *p, const lmfi *d, uint32_t now)
{
    const uint32_t passed = now - p->want.begun;
    const uint64_t frame = (uint64_t)passed * d->rate_num / (1000 * (uint64_t)d->rate_den);
    const uint32_t in_loop = (uint32_t)(frame % d->frames);
    const uint64_t first = frame - in_loop % d->segment;
    p->coming_due = p->want.begun + (uint32_t)(first * 1000 * d->rate_den / d->rate_num);
    return in_loop / d->segment;
}

static int open_coming(lmp *p, uint32_t now)
{
    const unsigned o = 1u - p->which;
    lmfi *d = &p->decoder[o];
    uint8_t head[16];
    uint64_t room;
    int error;
    p->file[o].image = p->want.image;
    if (read_file(&p->file[o], 0, head, 16) != 0)
        return LMFI_READ;
    error = lmfi_open(d, read_file, &p->file[o], lmfi_u32(head + 12));
    if (error)
        return error;
    if (p->want.has_id && d->id != p->want.id)
        return LMP_OTHER;
    room = 2 * (uint64_t)lmfi_frame_size(d) + (uint64_t)d->zones * (2u + 2u * d->caps);
    if (room > p->memory_size || d->lines > LMC_LINES || d->rate_den > 3600u * d->rate_num
        || d->rate_num > 1000u * (uint64_t)d->rate_den || d->rate_num > 1000000u)
        return LMFI_RANGE;
    p->coming = LMP_CHECKING;
    p->check_state[o] = LMFI_OK;
    return lmfi_check_begin(d, &p->check[o], p->want.has_begun ? place(p, d, now) : 0);
}

static int load_setup(lmp *p, unsigned which)
{
    const lmfi *d = &p->decoder[which];
    const uint32_t size = lmfi_frame_size(d);
    const int error = lmc_load(&p->setup, d, p->memory + 2 * (size_t)size,
                               p->memory_size - 2 * size);
    p->loaded = error == LMFI_OK;
    p->frame = p->memory;
    p->out = p->memory + (p->loaded ? size : 0);
    return error;
}

static void check_next(lmp *p)
{
    const lmfi *d = &p->decoder[p->which];
    const uint32_t next = ((d->frame - 1) / d->segment + 1) % lmfi_segments(d);
    p->check_state[p->which] = lmfi_check_begin(d, &p->check[p->which], next);
}

/* The frame that d->frame names into the buffer; 0 if its second isn't checked yet. */
static int fetch(lmp *p)
{
    lmfi *d = &p->decoder[p->which];
    int *state = &p->check_state[p->which], error = LMFI_OK, first;
    if (d->frame >= d->frames)
        d->frame = 0;
    first = d->frame % d->segment == 0;
    if (first) {
        if (*state == LMFI_OK)
            *state = lmfi_check_some(d, &p->check[p->which], LMP_SLICE);
        if (*state == LMFI_OK)
            return 0;
        error = *state == LMFI_END ? lmfi_begin(d, &p->check[p->which]) : *state;
    }
    if (!error)
        error = lmfi_next(d, p->frame);
    if (error) {
        lmp_fail(p, error);
        return 0;
    }
    if (first)
        check_next(p);
    p->ready = 1;
    return 1;
}

static void change(lmp *p, uint32_t now)
{
    const int goes_on = p->state == LMP_PLAYING;
    int error;
    p->which = (uint8_t)(1u - p->which);
    p->coming = LMP_NONE;
    error = load_setup(p, p->which);
    if (error) {
        lmp_fail(p, error);
        return;
    }
    p->image = p->want.image;
    p->decoder[p->which].frame = p->check[p->which].segment * p->decoder[p->which].segment;
    p->due = p->want.has_begun ? p->coming_due : goes_on ? p->due : now;
    p->part = 0;
    p->state = LMP_PLAYING;
    p->error = LMFI_OK;
    fetch(p);
}

/* A step towards what is wanted. */
static void prepare(lmp *p, uint32_t now)
{
    const unsigned o = 1u - p->which;
    int error = LMFI_OK;
    if (p->coming == LMP_ASKED) {
        error = open_coming(p, now);
        if (!error && p->want.only_setup) {
            p->coming = LMP_NONE;
            error = load_setup(p, o);
            p->state = LMP_DARK;
            p->error = LMFI_OK;
            lmp_black(p);
        }
    } else if (p->coming == LMP_CHECKING) {
        error = lmfi_check_some(&p->decoder[o], &p->check[o], LMP_SLICE);
        if (error == LMFI_END) {
            error = LMFI_OK;
            p->check_state[o] = LMFI_END;
            p->coming = LMP_READY;
        }
    }
    if (error)
        lmp_fail(p, error);
    else if (p->coming == LMP_READY && p->state != LMP_PLAYING)
        change(p, now);
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
    send(p);
    p->shown++;
}

static void play(lmp *p, uint32_t now)
{
    lmfi *d;
    uint32_t late, wait;
    if (!p->ready && !fetch(p))
        return;
    if (now - p->due >= 0x80000000u)
        return; /* not yet */
    if (p->coming == LMP_READY)
        change(p, now);
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
            prepare(p, now);
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
    send(p);
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
