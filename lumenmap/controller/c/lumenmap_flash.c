/* Reference decoder of the lumenmap flash image; see lumenmap_flash.h and FORMAT.md. */
#include "lumenmap_flash.h"

#include <string.h>

enum { HEAD = 40, INDEX = 12, COPY = LMFI_PREDICTORS, LITERAL = LMFI_PREDICTORS + 1 };
enum { L_EXACT, L_COPY, L_LITERAL, L_DISTANCE };

static uint32_t u32(const uint8_t *p)
{
    return p[0] | (uint32_t)p[1] << 8 | (uint32_t)p[2] << 16 | (uint32_t)p[3] << 24;
}

/* CRC-32 as in Ethernet, zlib and PNG, four bits at a time. */
static uint32_t crc32(uint32_t crc, const uint8_t *p, uint32_t n)
{
    static const uint32_t table[16] = {
        0x00000000, 0x1db71064, 0x3b6e20c8, 0x26d930ac, 0x76dc4190, 0x6b6b51f4,
        0x4db26158, 0x5005713c, 0xedb88320, 0xf00f9344, 0xd6d6a3e8, 0xcb61b38c,
        0x9b64c2b0, 0x86d3d2d4, 0xa00ae278, 0xbdbdf21c
    };
    while (n--) {
        crc ^= *p++;
        crc = table[crc & 15] ^ crc >> 4;
        crc = table[crc & 15] ^ crc >> 4;
    }
    return crc;
}

static void begin(lmfi *d, uint32_t offset, uint32_t size)
{
    d->at = offset;
    d->end = offset + size;
    d->crc = 0xffffffff;
    d->held = d->bits = 0;
    d->broken = LMFI_OK;
}

static int fill(lmfi *d)
{
    uint32_t n = d->end - d->at;
    if (n > LMFI_BUFFER)
        n = LMFI_BUFFER;
    d->held = d->bits = 0;
    if (n == 0)
        return LMFI_CORRUPT;
    if (d->read(d->user, d->at, d->buffer, n) != 0)
        return LMFI_READ;
    d->crc = crc32(d->crc, d->buffer, n);
    d->at += n;
    d->held = n;
    return LMFI_OK;
}

/* Past the end every bit is 0 and `broken` tells; loops stay bounded by their own counts. */
static unsigned bit(lmfi *d)
{
    unsigned value;
    if (d->bits == 8 * d->held && !d->broken)
        d->broken = (uint8_t)-fill(d);
    if (d->broken)
        return 0;
    value = d->buffer[d->bits >> 3] >> (7 - (d->bits & 7)) & 1;
    d->bits++;
    return value;
}

static uint32_t bits(lmfi *d, unsigned n)
{
    uint32_t value = 0;
    while (n--)
        value = value << 1 | bit(d);
    return value;
}

/* Reads `n` code lengths, four bits each, low half first; makes the table. */
static int read_table(lmfi *d, unsigned n, uint8_t *count, uint8_t *symbol)
{
    uint8_t lengths[LMFI_LENGTHS], at[16];
    unsigned i, l;
    int32_t left = 1;
    for (i = 0; i < n; i += 2) {
        unsigned two = bits(d, 8);
        lengths[i] = (uint8_t)(two & 15);
        if (i + 1 < n)
            lengths[i + 1] = (uint8_t)(two >> 4);
    }
    memset(count, 0, 16);
    for (i = 0; i < n; i++)
        count[lengths[i]]++;
    for (l = 1; l < 16; l++) {
        left = 2 * left - count[l];
        if (left < 0)
            return LMFI_CORRUPT; /* more codes than there can be */
    }
    at[1] = 0;
    for (l = 1; l < 15; l++)
        at[l + 1] = (uint8_t)(at[l] + count[l]);
    for (i = 0; i < n; i++)
        if (lengths[i])
            symbol[at[lengths[i]]++] = (uint8_t)i;
    return LMFI_OK;
}

static unsigned symbol_of(lmfi *d, const uint8_t *count, const uint8_t *symbol)
{
    int32_t code = 0, first = 0, index = 0;
    unsigned l;
    for (l = 1; l < 16; l++) {
        code |= (int32_t)bit(d);
        if (code - count[l] < first)
            return symbol[index + (code - first)];
        index += count[l];
        first = (first + count[l]) << 1;
        code <<= 1;
    }
    d->broken = (uint8_t)-LMFI_CORRUPT;
    return 0;
}

/* A class becomes a number: `direct` as they are, then pairs of classes of 4, 8, 16 … numbers. */
static uint32_t number(lmfi *d, unsigned c, unsigned direct)
{
    unsigned pair, half;
    if (c < direct)
        return c;
    pair = (c - direct) >> 1;
    half = (c - direct) & 1;
    return direct + 8 * ((1UL << pair) - 1) + ((uint32_t)half << (pair + 2)) + bits(d, pair + 2);
}

static uint32_t length_of(lmfi *d, unsigned which)
{
    return number(d, symbol_of(d, d->length_count[which], d->length[which]), 17);
}

/* What was at the two pixels before, in the new frame's buffer already overwritten. */
typedef struct {
    uint8_t was[4], was2[4];
} past;

static int clamp(int v)
{
    return v < 0 ? 0 : v > 255 ? 255 : v;
}

static uint8_t predict(const lmfi *d, const uint8_t *frame, const past *old, uint32_t i,
                       unsigned c, unsigned how)
{
    const uint8_t *p = frame + (size_t)i * d->channels + c;
    int here = p[0];
    int left = i > 0 ? p[-(int)d->channels] : 0;
    int left2 = i > 1 ? p[-2 * (int)d->channels] : 0;
    int ahead = i + 1 < d->pixels ? p[d->channels] : 0;
    int was = old->was[c], was2 = old->was2[c];
    int v, low, high;
    switch (how) {
    case 0: v = here; break;
    case 1: v = left; break;
    case 2: v = clamp(here + left - was); break;
    case 3: v = (here + left + 1) >> 1; break;
    case 4: v = was; break;
    case 5: v = ahead; break;
    case 6: v = (was + here + 1) >> 1; break;
    case 7: v = (ahead + here + 1) >> 1; break;
    case 8: v = clamp(left + ahead - here); break;
    case 9: v = clamp(left + was - was2); break;
    case 10: v = clamp(2 * left - left2); break;
    case 11:
        low = here < left ? here : left;
        high = here < left ? left : here;
        v = here + left - was;
        v = v < low ? low : v > high ? high : v;
        break;
    default: v = clamp(((2 * here + left - was + 512) >> 1) - 256); break;
    }
    return (uint8_t)v;
}

static unsigned context_of(int just, int same, int first)
{
    static const int8_t edge[6] = { -8, -2, 0, 1, 3, 9 };
    unsigned sign = 0, size;
    same = same < 0 ? -same : same;
    while (sign < 6 && just >= edge[sign])
        sign++;
    size = same < 1 ? 0 : same < 3 ? 1 : same < 9 ? 2 : 3;
    return sign * 4 + size + (first ? 0 : 28);
}

static int residual_of(lmfi *d, unsigned context)
{
    unsigned t = d->context[context];
    unsigned c = symbol_of(d, d->residual_count[t], d->residual[t]);
    uint32_t folded = number(d, c, 16);
    return folded & 1 ? -(int)(folded / 2) - 1 : (int)(folded / 2);
}

static int decode(lmfi *d, uint8_t *frame)
{
    const unsigned channels = d->channels;
    past old = { { 0 }, { 0 } };
    int before[4] = { 0 };
    uint32_t i = 0;
    while (i < d->pixels && !d->broken) {
        unsigned kind = symbol_of(d, d->kind_count, d->kind);
        unsigned which = kind < COPY ? L_EXACT : kind == COPY ? L_COPY : L_LITERAL;
        uint32_t n = length_of(d, which), back = 0;
        if (n == 0)
            n = d->pixels - i;
        if (kind == COPY) {
            back = length_of(d, L_DISTANCE);
            if (back == 0 || back > i)
                return LMFI_CORRUPT;
        }
        if (n > d->pixels - i)
            return LMFI_CORRUPT;
        for (; n && !d->broken; n--, i++) {
            uint8_t *p = frame + (size_t)i * channels;
            uint8_t now[4] = { 0 };
            int just = before[channels - 1];
            unsigned c;
            for (c = 0; c < channels; c++) {
                if (kind == COPY) {
                    now[c] = p[(size_t)c - (size_t)back * channels];
                } else if (kind < COPY) {
                    now[c] = predict(d, frame, &old, i, c, kind);
                } else {
                    just = residual_of(d, context_of(just, before[c], c == 0));
                    before[c] = just;
                    now[c] = (uint8_t)(predict(d, frame, &old, i, c, kind - LITERAL) + just);
                }
            }
            memcpy(old.was2, old.was, channels);
            memcpy(old.was, p, channels);
            memcpy(p, now, channels);
        }
    }
    return d->broken ? -(int)d->broken : LMFI_OK;
}

static uint32_t segments(const lmfi *d)
{
    return d->frames / d->segment + (d->frames % d->segment != 0);
}

static int read_tables(lmfi *d)
{
    unsigned i;
    int error = read_table(d, LMFI_KINDS, d->kind_count, d->kind);
    for (i = 0; i < 4 && !error; i++)
        error = read_table(d, LMFI_LENGTHS, d->length_count[i], d->length[i]);
    for (i = 0; i < LMFI_CONTEXTS && !error; i++)
        if ((d->context[i] = (uint8_t)bits(d, 8)) >= d->tables)
            error = LMFI_CORRUPT;
    for (i = 0; i < d->tables && !error; i++)
        error = read_table(d, LMFI_RESIDUALS, d->residual_count[i], d->residual[i]);
    return error;
}

int lmfi_open(lmfi *d, lmfi_reader read, void *user, uint32_t size)
{
    uint8_t head[HEAD];
    uint64_t wanted;
    uint32_t skip;
    int error;
    memset(d, 0, sizeof *d);
    d->read = read;
    d->user = user;
    if (size < HEAD)
        return LMFI_FORMAT;
    if (read(user, 0, head, HEAD) != 0)
        return LMFI_READ;
    if (memcmp(head, "LMFI", 4) != 0 || head[4] != 1)
        return LMFI_FORMAT;
    d->channels = head[5];
    d->loss = head[6];
    d->tables = head[7];
    d->header = u32(head + 8);
    d->size = u32(head + 12);
    d->frames = u32(head + 16);
    d->pixels = u32(head + 20);
    d->rate_num = u32(head + 24);
    d->rate_den = u32(head + 28);
    d->segment = u32(head + 32);
    d->lines = u32(head + 36);
    if (d->channels < 3 || d->channels > 4 || d->tables < 1 || d->tables > LMFI_TABLES
        || !d->frames || !d->pixels || d->pixels > 65535 || !d->rate_den || !d->segment
        || d->size != size || d->header > size || d->header < HEAD + 4)
        return LMFI_CORRUPT;
    wanted = HEAD + 8 * (uint64_t)d->lines + (LMFI_KINDS + 1) / 2 + 4 * ((LMFI_LENGTHS + 1) / 2)
             + LMFI_CONTEXTS + d->tables * ((LMFI_RESIDUALS + 1) / 2)
             + INDEX * (uint64_t)segments(d) + 4;
    if (wanted != d->header)
        return LMFI_CORRUPT;
    d->index = d->header - 4 - INDEX * segments(d);
    begin(d, 0, d->header);
    for (skip = HEAD + 8 * d->lines; skip && !d->broken; skip--)
        bits(d, 8);
    error = read_tables(d);
    if (d->broken)
        return -(int)d->broken;
    if (error)
        return error;
    /* The CRC covers all of the header before it. */
    begin(d, 0, d->header - 4);
    while (d->at < d->end)
        if ((error = fill(d)) != LMFI_OK)
            return error;
    if (read(user, d->header - 4, head, 4) != 0)
        return LMFI_READ;
    return u32(head) == (d->crc ^ 0xffffffff) ? LMFI_OK : LMFI_CORRUPT;
}

uint32_t lmfi_frame_size(const lmfi *d)
{
    return d->pixels * d->channels;
}

int lmfi_line(lmfi *d, uint32_t number, uint32_t *first, uint32_t *count)
{
    uint8_t entry[8];
    if (number >= d->lines)
        return LMFI_RANGE;
    if (d->read(d->user, HEAD + 8 * number, entry, 8) != 0)
        return LMFI_READ;
    *first = u32(entry);
    *count = u32(entry + 4);
    return LMFI_OK;
}

static int begin_segment(lmfi *d, uint32_t number)
{
    uint8_t entry[INDEX];
    uint32_t offset, size;
    if (d->read(d->user, d->index + INDEX * number, entry, INDEX) != 0)
        return LMFI_READ;
    offset = u32(entry);
    size = u32(entry + 4);
    if (offset < d->header || offset > d->size || size > d->size - offset)
        return LMFI_CORRUPT;
    begin(d, offset, size);
    d->crc_wanted = u32(entry + 8);
    return LMFI_OK;
}

/* After a segment's last frame nothing may be left, and the CRC must be the one written. */
static int end_segment(const lmfi *d)
{
    if (d->at != d->end || 8 * d->held - d->bits > 7)
        return LMFI_CORRUPT;
    return (d->crc ^ 0xffffffff) == d->crc_wanted ? LMFI_OK : LMFI_CORRUPT;
}

int lmfi_next(lmfi *d, uint8_t *buffer)
{
    int error = LMFI_OK;
    if (d->frame >= d->frames)
        return LMFI_END;
    if (d->frame % d->segment == 0) {
        error = begin_segment(d, d->frame / d->segment);
        memset(buffer, 0, lmfi_frame_size(d));
    }
    if (!error)
        error = decode(d, buffer);
    d->frame++;
    if (!error && (d->frame % d->segment == 0 || d->frame == d->frames))
        error = end_segment(d);
    return error;
}

int lmfi_seek(lmfi *d, uint32_t frame, uint8_t *buffer)
{
    int error;
    if (frame >= d->frames)
        return LMFI_RANGE;
    d->frame = frame - frame % d->segment;
    do
        error = lmfi_next(d, buffer);
    while (!error && d->frame <= frame);
    return error;
}

int lmfi_verify(lmfi *d)
{
    uint32_t i;
    for (i = 0; i < segments(d); i++) {
        int error = begin_segment(d, i);
        while (!error && d->at < d->end)
            error = fill(d);
        if (!error && (d->crc ^ 0xffffffff) != d->crc_wanted)
            error = LMFI_CORRUPT;
        if (error)
            return error;
    }
    return LMFI_OK;
}
