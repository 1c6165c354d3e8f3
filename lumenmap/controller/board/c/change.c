/* Opens what is to play and has it checked, and fetches frames. See change.h. */
#include "change.h"

#include "lumenmap_bits.h"

#include <stddef.h>

static int read_file(void *user, uint32_t offset, void *to, uint32_t size)
{
    const lmp_file *f = (const lmp_file *)user;
    return f->player->board.read(f->player->board.user, f->image, offset, to, size);
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
int lmp_fetch(lmp *p)
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

void lmp_change(lmp *p, uint32_t now)
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
    lmp_fetch(p);
}

/* A step towards what is wanted. */
void lmp_prepare(lmp *p, uint32_t now)
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
        lmp_change(p, now);
}
