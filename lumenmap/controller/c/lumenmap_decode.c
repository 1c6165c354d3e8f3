/* Reference decoder of the lumenmap flash image: code tables, frames. See FORMAT.md. */
#include "lumenmap_decode.h"

#include "lumenmap_bits.h"

#include <string.h>

enum { COPY = LMFI_PREDICTORS, LITERAL = LMFI_PREDICTORS + 1 };
enum { L_EXACT, L_COPY, L_LITERAL, L_DISTANCE };

/* Reads `n` code lengths, four bits each, low half first; makes the table. */
static int read_table(lmfi *d, unsigned n, uint8_t *count, uint8_t *symbol)
{
    uint8_t lengths[LMFI_LENGTHS + 1], at[16];
    unsigned i, l;
    int32_t left = 1;
    for (i = 0; i < n; i += 2) {
        const unsigned two = (unsigned)lmfi_bits(d, 8);
        lengths[i] = (uint8_t)(two & 15);
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

int lmfi_read_tables(lmfi *d)
{
    unsigned i;
    int error = read_table(d, LMFI_KINDS, d->kind_count, d->kind);
    for (i = 0; i < 4 && !error; i++)
        error = read_table(d, LMFI_LENGTHS, d->length_count[i], d->length[i]);
    for (i = 0; i < LMFI_CONTEXTS && !error; i++)
        if ((d->context[i] = (uint8_t)lmfi_bits(d, 8)) >= d->tables)
            error = LMFI_CORRUPT;
    for (i = 0; i < d->tables && !error; i++)
        error = read_table(d, LMFI_RESIDUALS, d->residual_count[i], d->residual[i]);
    return error;
}

static unsigned symbol_of(lmfi *d, const uint8_t *count, const uint8_t *symbol)
{
    unsigned code = 0, first = 0, index = 0, l;
    uint32_t window;
    if (d->ready < 15)
        lmfi_refill(d);
    window = d->window;
    for (l = 1; l < 16; l++) {
        code |= (unsigned)(window >> 31);
        window <<= 1;
        if (code < first + count[l]) {
            lmfi_use(d, l);
            return d->broken ? 0 : symbol[index + (code - first)];
        }
        index += count[l];
        first = (first + count[l]) << 1;
        code <<= 1;
    }
    if (!d->broken)
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
    return direct + 8 * (((uint32_t)1 << pair) - 1) + ((uint32_t)half << (pair + 2))
           + lmfi_bits(d, pair + 2);
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

/* The code that predictor `how` gives for channel c at `p`, which holds pixel i. */
static unsigned predict(const lmfi *d, const uint8_t *p, const past *old, uint32_t i, unsigned c,
                        unsigned how)
{
    const unsigned step = d->channels;
    const int here = p[c], was = old->was[c];
    const int left = i > 0 ? *(p + c - step) : 0;
    const int ahead = how >= 5 && how <= 8 && i + 1 < d->pixels ? p[c + step] : 0;
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
    case 9: v = clamp(left + was - old->was2[c]); break;
    case 10: v = clamp(2 * left - (i > 1 ? *(p + c - 2 * step) : 0)); break;
    case 11:
        low = here < left ? here : left;
        high = here < left ? left : here;
        v = here + left - was;
        v = v < low ? low : v > high ? high : v;
        break;
    default: v = clamp(((2 * here + left - was + 512) >> 1) - 256); break;
    }
    return (unsigned)v;
}

static unsigned context_of(int just, int same, unsigned c)
{
    static const int8_t edge[6] = { -8, -2, 0, 1, 3, 9 };
    unsigned sign = 0, size;
    same = same < 0 ? -same : same;
    while (sign < 6 && just >= edge[sign])
        sign++;
    size = same < 1 ? 0 : same < 3 ? 1 : same < 9 ? 2 : 3;
    return sign * 4 + size + (c == 0 ? 0 : 28);
}

static int residual_of(lmfi *d, unsigned context)
{
    const unsigned t = d->context[context];
    const unsigned c = symbol_of(d, d->residual_count[t], d->residual[t]);
    const uint32_t folded = number(d, c, 16);
    return folded & 1 ? -(int)(folded / 2) - 1 : (int)(folded / 2);
}

/* A token: how `n` pixels are made, and for a copy from how far back. */
typedef struct {
    unsigned kind;
    uint32_t n, back;
} token;

static int next_token(lmfi *d, uint32_t i, token *t)
{
    t->kind = symbol_of(d, d->kind_count, d->kind);
    t->n = length_of(d, t->kind < COPY ? L_EXACT : t->kind == COPY ? L_COPY : L_LITERAL);
    t->back = 0;
    if (t->n == 0)
        t->n = d->pixels - i;
    if (t->kind == COPY) {
        t->back = length_of(d, L_DISTANCE);
        if (t->back == 0 || t->back > i)
            return LMFI_CORRUPT;
    }
    return t->n > d->pixels - i ? LMFI_CORRUPT : LMFI_OK;
}

int lmfi_decode(lmfi *d, uint8_t *frame)
{
    const unsigned channels = d->channels;
    past old = { { 0 }, { 0 } };
    int before[4] = { 0 };
    uint8_t *p = frame;
    uint32_t i = 0;
    while (i < d->pixels && !d->broken) {
        token t;
        if (next_token(d, i, &t) != LMFI_OK)
            return d->broken ? -(int)d->broken : LMFI_CORRUPT;
        if (t.kind == 0 && t.n == d->pixels - i)
            break; /* the rest stays as it was */
        for (; t.n && !d->broken; t.n--, i++, p += channels) {
            uint8_t now[4] = { 0 };
            int just = before[channels - 1];
            unsigned c;
            for (c = 0; c < channels; c++) {
                if (t.kind == COPY) {
                    now[c] = *(p + c - (size_t)t.back * channels);
                } else if (t.kind < COPY) {
                    now[c] = (uint8_t)predict(d, p, &old, i, c, t.kind);
                } else {
                    just = residual_of(d, context_of(just, before[c], c));
                    before[c] = just;
                    now[c] = (uint8_t)(predict(d, p, &old, i, c, t.kind - LITERAL)
                                       + (unsigned)just);
                }
            }
            for (c = 0; c < channels; c++) {
                old.was2[c] = old.was[c];
                old.was[c] = p[c];
                p[c] = now[c];
            }
        }
    }
    return d->broken ? -(int)d->broken : LMFI_OK;
}
