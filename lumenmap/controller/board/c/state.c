/* From one state of the player to another, and what the pixels show then. See state.h. */
#include "state.h"

#include <string.h>

void lmp_send(lmp *p)
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
        lmp_send(p);
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

void lmp_stop(lmp *p)
{
    p->coming = LMP_NONE;
    p->want.image = p->image = LMP_NOTHING;
    if (p->state == LMP_LIVE)
        return;
    p->state = LMP_DARK;
    lmp_black(p);
}
