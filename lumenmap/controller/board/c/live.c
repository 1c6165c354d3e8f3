/* Receives E1.31; see live.h. Field offsets and rules by ANSI E1.31-2018; the clause stands beside
 * each. All numbers are big endian. */
#include "live.h"

#include <string.h>

enum { ROOT_DATA = 4, ROOT_EXTENDED = 8, PREVIEW = 0x80, TERMINATED = 0x40, FREE_RUN = 0x20 };
enum { SLOTS_AT = 126, SYNC_SIZE = 49, HIGHEST_PRIORITY = 200 };
#define MOST_SLOTS 512u

static uint32_t be16(const uint8_t *p)
{
    return (uint32_t)p[0] << 8 | p[1];
}

static uint32_t be32(const uint8_t *p)
{
    return be16(p) << 16 | be16(p + 2);
}

static uint32_t now_of(const lml *l)
{
    return l->player->board.millis(l->player->board.user);
}

void lml_init(lml *l, lmp *player, unsigned heeds_sync)
{
    memset(l, 0, sizeof *l);
    l->player = player;
    l->heeds_sync = heeds_sync != 0;
}

/* A stretch of the frame that a universe carries. */
typedef struct {
    unsigned index;
    uint32_t first, octets;
} stretch;

/* Finds a universe's stretch, or the universe of a stretch's index. No pixel is split, so that a
 * universe carries 170 pixels of three channels or 128 of four. */
static uint32_t find(const lml *l, uint32_t universe, unsigned index, stretch *found)
{
    const lmc_setup *s = &l->player->setup;
    const uint32_t per = l->player->loaded ? MOST_SLOTS / s->channels : 1;
    uint32_t i, k, n;
    unsigned number = 0;
    for (i = 0; l->player->loaded && i < s->lines; i++) {
        const lmfi_span *line = &s->line[i];
        for (k = 0; k < line->count; k += per, number++) {
            const uint32_t here = line->universe + k / per;
            if (number >= LML_UNIVERSES)
                return 0;
            if (universe ? here != universe : number != index)
                continue;
            n = line->count - k < per ? line->count - k : per;
            found->index = number;
            found->first = (line->first + k) * s->channels;
            found->octets = n * s->channels;
            return here;
        }
    }
    return 0;
}

uint16_t lml_universe(const lml *l, unsigned index)
{
    stretch found;
    return (uint16_t)find(l, 0, index, &found);
}

uint32_t lml_group(uint16_t universe)
{
    return 0xefff0000u | universe; /* 9.3.1: 239.255.HIGH.LOW */
}

/* 6.7.2: numbers up to 20 behind are late, others are a source that started anew. */
static int is_late(uint8_t sequence, uint8_t last)
{
    const int ahead = (int8_t)(uint8_t)(sequence - last);
    return ahead <= 0 && ahead > -20;
}

static void show(lml *l, uint32_t now)
{
    unsigned i;
    for (i = 0; i < LML_UNIVERSES; i++)
        l->source[i].fresh = 0;
    l->shown_at = now;
    l->begun = 1;
    lmp_live_show(l->player);
}

/* 11.1: from its first synchronisation packet on a source's data waits for the next one; after 2.5 s
 * without any it goes on waiting, or goes on alone if Force_Synchronization says so. */
static int waits(const lml *l, uint32_t now)
{
    unsigned i;
    for (i = 0; l->synced && i < LML_UNIVERSES; i++) {
        const lml_source *s = &l->source[i];
        if (s->active && s->sync && s->sync == l->sync_address
            && memcmp(s->cid, l->sync_cid, 16) == 0
            && (now - l->sync_last <= LML_LOSS_MS || !s->free_run))
            return 1;
    }
    return 0;
}

static void show_when_whole(lml *l, uint32_t now)
{
    unsigned i, fresh = 0, missing = 0;
    for (i = 0; i < LML_UNIVERSES; i++) {
        fresh += l->source[i].fresh;
        if (l->source[i].active || (!l->begun && lml_universe(l, i)))
            missing += !l->source[i].fresh; /* a first frame waits for universes not heard yet */
    }
    if (!fresh || waits(l, now) || now - l->shown_at < LML_LEAST_MS)
        return;
    if (!missing || now - l->fresh_since >= LML_GATHER_MS)
        show(l, now);
}

/* 4.1 and 7: whether every field that can be checked is as it must be. */
static int is_data(const uint8_t *p, uint32_t size)
{
    uint32_t count;
    if (size < SLOTS_AT || be32(p + 40) != 2 || p[117] != 2 || p[118] != 0xa1
        || be16(p + 119) != 0 || be16(p + 121) != 1)
        return 0;
    count = be16(p + 123); /* the start code among them */
    return count >= 1 && count <= MOST_SLOTS + 1 && SLOTS_AT - 1 + count <= size
           && be16(p + 16) == (0x7000 | (109 + count)) && be16(p + 38) == (0x7000 | (87 + count))
           && be16(p + 115) == (0x7000 | (10 + count)) && p[108] <= HIGHEST_PRIORITY;
}

static void lose(lml *l, unsigned index)
{
    stretch there;
    l->source[index].active = l->source[index].fresh = l->source[index].orphan = 0;
    if (l->player->state == LMP_LIVE && find(l, 0, index, &there))
        memset(l->player->frame + there.first, 0, (size_t)there.octets);
}

/* Gives back when nobody sends any more. */
static void end_if_silent(lml *l)
{
    unsigned i, active = 0;
    for (i = 0; i < LML_UNIVERSES; i++)
        active += l->source[i].active;
    if (!active)
        l->synced = l->begun = 0;
    if (!active && l->player->state == LMP_LIVE)
        lmp_live_end(l->player);
}

/* Whether a packet's source has the universe now; 6.2.3: the highest priority does. */
static int choose(lml *l, lml_source *s, const uint8_t *p, unsigned index, uint32_t now)
{
    const int same = s->active && !s->orphan && memcmp(s->cid, p + 22, 16) == 0;
    if (same && is_late(p[111], s->sequence))
        return LML_LATE;
    if (!same && s->active && !s->orphan && p[108] <= s->priority) {
        s->others = !(p[112] & TERMINATED);
        s->heard = now;
        return LML_LOWER;
    }
    if (p[112] & TERMINATED) { /* 6.2.6: its slots are to be ignored */
        if (same && s->others && now - s->heard <= LML_LOSS_MS) {
            s->orphan = 1; /* another one will take it within its next keep-alive */
        } else if (same) {
            lose(l, index);
            end_if_silent(l);
        }
        return LML_ENDED;
    }
    s->orphan = 0;
    s->others = s->others && same;
    memcpy(s->cid, p + 22, 16);
    s->priority = p[108];
    s->sequence = p[111];
    s->sync = (uint16_t)(l->heeds_sync ? be16(p + 109) : 0);
    s->free_run = (p[112] & FREE_RUN) != 0;
    return LML_TAKEN;
}

static int take_data(lml *l, const uint8_t *p, uint32_t now)
{
    const uint32_t slots = be16(p + 123) - 1;
    stretch there;
    lml_source *s;
    uint8_t *frame;
    uint32_t n;
    int told;
    if (p[125] != 0 || p[112] & PREVIEW)
        return LML_NOT_LIGHT;
    if (!l->player->loaded)
        return LML_NOBODY;
    if (be16(p + 113) == 0 || !find(l, be16(p + 113), 0, &there))
        return LML_NOT_OURS;
    s = &l->source[there.index];
    told = choose(l, s, p, there.index, now);
    if (told != LML_TAKEN)
        return told;
    frame = l->player->state == LMP_LIVE ? l->player->frame : lmp_live_begin(l->player);
    if (s->fresh && !waits(l, now) && now - l->shown_at >= LML_LEAST_MS)
        show(l, now); /* the next frame begins, and some of this one never came */
    n = slots < there.octets ? slots : there.octets;
    memcpy(frame + there.first, p + SLOTS_AT, (size_t)n);
    memset(frame + there.first + n, 0, (size_t)(there.octets - n));
    s->active = s->fresh = 1;
    s->last = now;
    return LML_TAKEN;
}

/* 6.3: everything that waited for it is shown. */
static int take_sync(lml *l, const uint8_t *p, uint32_t now)
{
    const uint32_t address = be16(p + 45);
    unsigned i, ours = 0;
    if (be16(p + 16) != 0x7021 || be16(p + 38) != 0x700b || be32(p + 40) != 1 || address == 0)
        return LML_NOT_E131;
    for (i = 0; i < LML_UNIVERSES; i++)
        ours += l->source[i].active && l->source[i].sync == address
                && memcmp(l->source[i].cid, p + 22, 16) == 0;
    if (!l->heeds_sync || !ours)
        return LML_NOT_OURS;
    if (l->synced && address == l->sync_address && memcmp(l->sync_cid, p + 22, 16) == 0
        && is_late(p[44], l->sync_sequence))
        return LML_LATE;
    l->synced = 1;
    l->sync_address = (uint16_t)address;
    l->sync_sequence = p[44];
    memcpy(l->sync_cid, p + 22, 16);
    l->sync_last = now;
    if (l->player->state == LMP_LIVE)
        show(l, now);
    return LML_TAKEN;
}

int lml_packet(lml *l, const uint8_t *p, uint32_t size)
{
    static const uint8_t head[16] = { 0, 16, 0, 0, 'A', 'S', 'C', '-', 'E', '1', '.', '1', '7' };
    const uint32_t now = now_of(l);
    uint32_t i;
    int told;
    if (size < SYNC_SIZE || memcmp(p, head, sizeof head) != 0)
        return LML_NOT_E131;
    if (be32(p + 18) == ROOT_EXTENDED)
        return take_sync(l, p, now);
    if (be32(p + 18) != ROOT_DATA || !is_data(p, size))
        return LML_NOT_E131;
    for (i = 0; i < LML_UNIVERSES && !l->source[i].fresh; i++)
        ;
    if (i == LML_UNIVERSES)
        l->fresh_since = now;
    told = take_data(l, p, now);
    if (told == LML_TAKEN)
        show_when_whole(l, now);
    return told;
}

/* Whether a universe will be lost in a moment: its last packet was of the same frame as those that
 * are lost now, and went later through the air. They end together, so that no frame is half black. */
static int one_follows(const lml *l, uint32_t now)
{
    unsigned i;
    for (i = 0; i < LML_UNIVERSES; i++) {
        const uint32_t silent = now - l->source[i].last;
        if (l->source[i].active && silent <= LML_LOSS_MS && silent + LML_GATHER_MS > LML_LOSS_MS)
            return 1;
    }
    return 0;
}

void lml_step(lml *l)
{
    const uint32_t now = now_of(l);
    const int wait = one_follows(l, now);
    unsigned i, lost = 0;
    for (i = 0; i < LML_UNIVERSES && !wait; i++)
        if (l->source[i].active && now - l->source[i].last > LML_LOSS_MS) { /* 6.7.1 */
            lose(l, i);
            lost++;
        }
    if (lost)
        end_if_silent(l);
    if (l->player->state != LMP_LIVE)
        return;
    if (lost && !waits(l, now))
        show(l, now);
    else
        show_when_whole(l, now);
}
