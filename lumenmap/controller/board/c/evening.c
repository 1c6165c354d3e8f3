/* Evenings: the time of day, and what the table of the year says. See evening.h. */
#include "evening.h"

enum { ON_MS = 200, PAUSE_MS = 1200, HOUR = 3600 };

static int read_table(void *user, uint32_t offset, void *to, uint32_t size)
{
    const lmp *p = (const lmp *)user;
    return p->board.read(p->board.user, LMP_TABLE, offset, to, size);
}

void lmp_follow_table(lmp *p)
{
    p->follows = p->look = 1;
}

void lmp_set_time(lmp *p, uint32_t utc)
{
    p->utc = utc;
    p->utc_ms = p->board.millis(p->board.user);
    p->age = 0;
    p->time_known = p->look = 1;
}

void lmp_lose_time(lmp *p)
{
    p->time_known = 0;
    p->look = 1;
}

uint32_t lmp_time(const lmp *p)
{
    return p->time_known ? p->utc : 0;
}

void lmp_keep_time(lmp *p, uint32_t now)
{
    const uint32_t seconds = (now - p->utc_ms) / 1000;
    p->utc_ms += 1000 * seconds;
    p->utc += seconds;
    p->age += seconds;
    if (p->time_known && p->age > (uint32_t)LMP_TIME_DAYS * 24 * HOUR)
        lmp_lose_time(p);
}

/* Dark; if no image has said yet what the lines and caps are, the first one is asked. */
static void go_dark(lmp *p)
{
    if (p->want.image != LMP_NOTHING && !p->want.only_setup)
        lmp_stop(p);
    else if (p->state == LMP_ERROR)
        p->state = LMP_DARK;
    if (!p->loaded && p->coming == LMP_NONE && p->state == LMP_DARK) {
        lmp_want want = { 0, 0, 0, 0, 0, 0 };
        want.only_setup = 1;
        lmp_ask(p, &want);
    }
}

static void go_play(lmp *p, const lmy_piece *piece, uint32_t now)
{
    lmp_want want = { 0, 0, 0, 0, 0, 0 };
    want.image = piece->image;
    want.id = piece->id;
    want.has_id = 1;
    if (piece->begun) {
        want.has_begun = 1;
        want.begun = now - (p->utc - piece->begun) * 1000u - (now - p->utc_ms);
    }
    p->level = piece->level;
    if (p->want.image != want.image || p->want.id != want.id || p->piece_begun != piece->begun
        || p->want.only_setup) {
        if (p->state == LMP_LIVE)
            p->want = want;
        else
            lmp_ask(p, &want);
    }
    p->piece_begun = piece->begun;
}

void lmp_evening(lmp *p, uint32_t now)
{
    lmy_piece piece;
    if (p->table < 0 && !p->look && now - p->retry >= 0x80000000u)
        return; /* it couldn't be read; wait a little */
    if (!p->look && p->table >= 0 && (!p->time_known || p->utc < p->look_at))
        return;
    p->look = 0;
    p->table = p->time_known ? lmy_look(read_table, p, p->utc, &piece)
                             : lmy_default(read_table, p, &piece);
    p->look_at = piece.until > p->utc ? piece.until : p->utc + HOUR;
    if (p->table < 0) {
        p->want.image = LMP_NOTHING;
        if (p->state != LMP_LIVE)
            lmp_fail(p, p->table);
        else
            p->retry = now + LMP_RETRY_MS;
    } else if (p->table == LMY_PLAY) {
        go_play(p, &piece, now);
    } else {
        go_dark(p);
    }
}

unsigned lmp_flashes(const lmp *p)
{
    if (p->state == LMP_LIVE)
        return 2;
    if (p->follows && (p->table < 0 || p->table == LMY_OVER))
        return 7;
    if (p->state == LMP_ERROR)
        return p->error == LMFI_READ ? 6 : 5;
    if (p->state == LMP_OPENING)
        return 0;
    if (p->follows && !p->time_known)
        return 4;
    return p->state == LMP_DARK ? 3 : 1;
}

unsigned lmp_lamp(const lmp *p)
{
    const uint32_t round = 2 * ON_MS * lmp_flashes(p) + PAUSE_MS;
    const uint32_t at = p->board.millis(p->board.user) % round;
    return at < round - PAUSE_MS && at / ON_MS % 2 == 0;
}
