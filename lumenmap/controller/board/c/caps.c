/* Lines and caps of an image; see caps.h. */
#include "caps.h"
#include "lumenmap_bits.h"

#include <string.h>

uint32_t lmc_size(const lmfi *d)
{
    return d->zones * (2u + 2u * d->caps);
}

static uint32_t u16(const uint8_t *p)
{
    return p[0] | (uint32_t)p[1] << 8;
}

/* The zones are all the pixels. */
static int zones_fit(const lmc_setup *s)
{
    const uint8_t *p = s->zone;
    uint32_t at = 0, i;
    for (i = 0; i < s->zones; i++, p += 2 + 2 * s->caps) {
        if (u16(p) > s->pixels - at)
            return 0;
        at += u16(p);
    }
    return at == s->pixels || s->caps == 0;
}

int lmc_load(lmc_setup *s, const lmfi *d, uint8_t *memory, uint32_t size)
{
    uint8_t piece[LMFI_LINE];
    uint32_t at = LMFI_HEAD, crc = 0xffffffff;
    unsigned i;
    memset(s, 0, sizeof *s);
    if (d->lines > LMC_LINES || lmc_size(d) > size)
        return LMFI_RANGE;
    s->pixels = d->pixels;
    s->zones = d->zones;
    s->channels = d->channels;
    s->lines = (uint8_t)d->lines;
    s->caps = d->caps;
    s->zone = memory;
    for (i = 0; i < s->lines; i++, at += LMFI_LINE) {
        int error = lmfi_line(d, i, &s->line[i]);
        if (error)
            return error;
        if (d->read(d->user, at, piece, LMFI_LINE) != 0)
            return LMFI_READ;
        crc = lmfi_crc32(crc, piece, LMFI_LINE);
    }
    for (i = 0; i < s->caps; i++, at += 8) {
        if (d->read(d->user, at, piece, 8) != 0)
            return LMFI_READ;
        crc = lmfi_crc32(crc, piece, 8);
        s->limit[i] = lmfi_u32(piece) | (uint64_t)lmfi_u32(piece + 4) << 32;
    }
    if (lmc_size(d) && d->read(d->user, at, memory, lmc_size(d)) != 0)
        return LMFI_READ;
    crc = lmfi_crc32(crc, memory, lmc_size(d));
    return crc == d->setup_crc && zones_fit(s) ? LMFI_OK : LMFI_CORRUPT;
}

/* What a stretch of pixels counts for. It lies in one zone, and perhaps in several lines. */
static uint64_t counted(const lmc_setup *s, const uint8_t *codes, uint32_t first, uint32_t stop)
{
    uint64_t sum = 0;
    unsigned i, c;
    for (i = 0; i < s->lines; i++) {
        const lmfi_span *line = &s->line[i];
        const uint32_t from = first > line->first ? first : line->first;
        const uint32_t end = line->first + line->count;
        const uint32_t to = stop < end ? stop : end;
        const uint8_t *p = codes + (size_t)from * s->channels;
        uint32_t each[4] = { 0 }, n;
        if (from >= to)
            continue;
        for (n = to - from; n; n--)
            for (c = 0; c < s->channels; c++)
                each[c] += *p++; /* 65535 pixels at most: no overflow */
        for (c = 0; c < s->channels; c++)
            sum += (uint64_t)each[c] * line->weight[c];
    }
    return sum;
}

void lmc_sums(const lmc_setup *s, const uint8_t *codes, uint64_t *sums)
{
    const uint8_t *p = s->zone;
    uint32_t i, at = 0;
    unsigned k;
    memset(sums, 0, s->caps * sizeof *sums);
    for (i = 0; s->caps && i < s->zones; i++, p += 2 + 2 * s->caps) {
        const uint32_t n = u16(p);
        const uint64_t sum = counted(s, codes, at, at + n);
        for (k = 0; k < s->caps; k++)
            sums[k] += sum * u16(p + 2 + 2 * k);
        at += n;
    }
}

unsigned lmc_share(const lmc_setup *s, const uint8_t *codes)
{
    uint64_t sums[LMFI_CAPS];
    unsigned share = 256, k;
    lmc_sums(s, codes, sums);
    for (k = 0; k < s->caps; k++)
        if (sums[k] > s->limit[k]) { /* so the limit is below 2^54 */
            const unsigned most = (unsigned)(s->limit[k] * 256 / sums[k]);
            share = most < share ? most : share;
        }
    return share;
}

void lmc_dim(uint8_t *codes, uint32_t size, unsigned share)
{
    if (share >= 256)
        return;
    for (; size; size--, codes++)
        *codes = (uint8_t)((*codes * (uint32_t)share) >> 8);
}
