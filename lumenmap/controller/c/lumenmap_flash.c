/* Reference decoder of the lumenmap flash image: header, segments, CRCs. See lumenmap_flash.h. */
#include "lumenmap_flash.h"

#include "lumenmap_bits.h"
#include "lumenmap_decode.h"

#include <string.h>

enum { INDEX = 12, PIECE = 64 };

static uint16_t u16(const uint8_t *p)
{
    return (uint16_t)(p[0] | (unsigned)p[1] << 8);
}

uint32_t lmfi_segments(const lmfi *d)
{
    return d->frames / d->segment + (d->frames % d->segment != 0);
}

uint32_t lmfi_frame_size(const lmfi *d)
{
    return d->pixels * d->channels;
}

/* Fixed fields, and whether they can be true together. */
static int read_head(lmfi *d, const uint8_t *head, uint32_t size)
{
    uint64_t wanted;
    if (memcmp(head, "LMFI", 4) != 0 || head[4] != 2)
        return LMFI_FORMAT;
    d->channels = head[5];
    d->loss = head[6];
    d->tables = head[7];
    d->header = lmfi_u32(head + 8);
    d->size = lmfi_u32(head + 12);
    d->frames = lmfi_u32(head + 16);
    d->pixels = lmfi_u32(head + 20);
    d->rate_num = lmfi_u32(head + 24);
    d->rate_den = lmfi_u32(head + 28);
    d->segment = lmfi_u32(head + 32);
    d->lines = u16(head + 36);
    d->caps = head[38];
    d->zones = lmfi_u32(head + 40);
    memcpy(d->name, head + 44, LMFI_NAME);
    if (d->channels < 3 || d->channels > 4 || d->tables < 1 || d->tables > LMFI_TABLES
        || !d->frames || !d->pixels || d->pixels > 65535 || !d->rate_num || !d->rate_den
        || !d->segment || d->segment > 65535 || !d->lines || d->caps > LMFI_CAPS
        || d->zones > d->pixels || d->size != size || d->header > size)
        return LMFI_CORRUPT;
    wanted = LMFI_HEAD + LMFI_LINE * (uint64_t)d->lines + 8u * d->caps
             + (uint64_t)d->zones * (2u + 2u * d->caps) + (LMFI_KINDS + 1) / 2
             + 4 * ((LMFI_LENGTHS + 1) / 2) + LMFI_CONTEXTS
             + (uint64_t)d->tables * ((LMFI_RESIDUALS + 1) / 2)
             + INDEX * (uint64_t)lmfi_segments(d) + 4;
    if (wanted != d->header)
        return LMFI_CORRUPT;
    d->index = d->header - 4 - INDEX * lmfi_segments(d);
    return LMFI_OK;
}

/* The lines follow each other and are all the pixels; caps are passed over. */
static int read_lines(lmfi *d)
{
    uint32_t at = 0, i, n = 8u * d->caps + d->zones * (2u + 2u * d->caps);
    uint8_t entry[LMFI_LINE];
    unsigned k;
    d->setup_crc = 0xffffffff;
    for (i = 0; i < d->lines; i++) {
        for (k = 0; k < LMFI_LINE; k++)
            entry[k] = (uint8_t)lmfi_bits(d, 8);
        d->setup_crc = lmfi_crc32(d->setup_crc, entry, LMFI_LINE);
        if (d->broken)
            return -(int)d->broken;
        if (lmfi_u32(entry) != at || lmfi_u32(entry + 4) > d->pixels - at)
            return LMFI_CORRUPT;
        at += lmfi_u32(entry + 4);
    }
    for (i = 0; i < n; i++) {
        entry[0] = (uint8_t)lmfi_bits(d, 8);
        d->setup_crc = lmfi_crc32(d->setup_crc, entry, 1);
    }
    return at == d->pixels ? LMFI_OK : LMFI_CORRUPT;
}

int lmfi_open(lmfi *d, lmfi_reader read, void *user, uint32_t size)
{
    uint8_t head[LMFI_HEAD];
    uint32_t i;
    int error;
    memset(d, 0, sizeof *d);
    d->read = read;
    d->user = user;
    if (size < LMFI_HEAD)
        return LMFI_FORMAT;
    if (read(user, 0, head, LMFI_HEAD) != 0)
        return LMFI_READ;
    if ((error = read_head(d, head, size)) != LMFI_OK)
        return error;
    /* Once through all of the header: what is kept of it is what the CRC has seen. */
    lmfi_start_bits(d, 0, d->header - 4);
    for (i = 0; i < LMFI_HEAD; i++)
        if ((uint8_t)lmfi_bits(d, 8) != head[i])
            return d->broken ? -(int)d->broken : LMFI_CORRUPT;
    if ((error = read_lines(d)) != LMFI_OK)
        return error;
    error = lmfi_read_tables(d);
    if (d->broken)
        return -(int)d->broken;
    if (error)
        return error;
    while (d->at < d->end)
        if ((error = lmfi_fill(d)) != LMFI_OK)
            return error;
    if (read(user, d->header - 4, head, 4) != 0)
        return LMFI_READ;
    d->id = d->crc ^ 0xffffffff;
    return lmfi_u32(head) == d->id ? LMFI_OK : LMFI_CORRUPT;
}

int lmfi_line(const lmfi *d, uint32_t number, lmfi_span *line)
{
    uint8_t entry[LMFI_LINE];
    unsigned c;
    if (number >= d->lines)
        return LMFI_RANGE;
    if (d->read(d->user, LMFI_HEAD + LMFI_LINE * number, entry, LMFI_LINE) != 0)
        return LMFI_READ;
    line->first = lmfi_u32(entry);
    line->count = lmfi_u32(entry + 4);
    if (line->first > d->pixels || line->count > d->pixels - line->first)
        return LMFI_CORRUPT; /* it was whole when the image was opened */
    line->universe = u16(entry + 8);
    memcpy(line->order, entry + 12, 4);
    line->order[4] = 0;
    for (c = 0; c < 4; c++)
        line->weight[c] = u16(entry + 16 + 2 * c);
    return LMFI_OK;
}

int lmfi_check_begin(const lmfi *d, lmfi_check *check, uint32_t segment)
{
    uint8_t entry[INDEX];
    memset(check, 0, sizeof *check);
    check->segment = segment;
    if (segment >= lmfi_segments(d))
        return LMFI_RANGE;
    if (d->read(d->user, d->index + INDEX * segment, entry, INDEX) != 0)
        return LMFI_READ;
    check->at = check->offset = lmfi_u32(entry);
    check->size = lmfi_u32(entry + 4);
    check->wanted = lmfi_u32(entry + 8);
    check->crc = 0xffffffff;
    if (check->offset < d->header || check->offset > d->size
        || check->size > d->size - check->offset)
        return LMFI_CORRUPT;
    return LMFI_OK;
}

int lmfi_check_some(const lmfi *d, lmfi_check *check, uint32_t most)
{
    uint8_t piece[PIECE];
    const uint32_t end = check->offset + check->size;
    while (most && check->at < end) {
        uint32_t n = end - check->at;
        n = n > PIECE ? PIECE : n;
        n = n > most ? most : n;
        if (d->read(d->user, check->at, piece, n) != 0)
            return LMFI_READ;
        check->crc = lmfi_crc32(check->crc, piece, n);
        check->at += n;
        most -= n;
    }
    if (check->at < end)
        return LMFI_OK;
    check->good = (check->crc ^ 0xffffffff) == check->wanted;
    return check->good ? LMFI_END : LMFI_CORRUPT;
}

int lmfi_begin(lmfi *d, const lmfi_check *check)
{
    if (!check->good)
        return LMFI_CORRUPT;
    d->frame = check->segment * d->segment;
    lmfi_start_bits(d, check->offset, check->size);
    d->crc_wanted = check->wanted;
    d->begun = 1;
    return LMFI_OK;
}

static int check_all(lmfi *d, lmfi_check *check, uint32_t segment)
{
    int error = lmfi_check_begin(d, check, segment);
    return error ? error : lmfi_check_some(d, check, 0xffffffff);
}

/* After a segment's last frame nothing may be left, and the CRC must be the one written. */
static int end_segment(const lmfi *d)
{
    if (d->at != d->end || 8 * (d->held - d->used) + d->ready > 7)
        return LMFI_CORRUPT;
    return (d->crc ^ 0xffffffff) == d->crc_wanted ? LMFI_OK : LMFI_CORRUPT;
}

int lmfi_next(lmfi *d, uint8_t *buffer)
{
    int error = LMFI_OK;
    if (d->frame >= d->frames)
        return LMFI_END;
    if (d->frame % d->segment == 0) {
        if (!d->begun) {
            lmfi_check check;
            error = check_all(d, &check, d->frame / d->segment);
            error = error == LMFI_END ? lmfi_begin(d, &check) : error;
        }
        d->begun = 0;
        memset(buffer, 0, (size_t)lmfi_frame_size(d));
    }
    if (!error)
        error = lmfi_decode(d, buffer);
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
    d->begun = 0;
    do
        error = lmfi_next(d, buffer);
    while (!error && d->frame <= frame);
    return error;
}

int lmfi_verify(lmfi *d)
{
    lmfi_check check;
    uint32_t i;
    for (i = 0; i < lmfi_segments(d); i++) {
        int error = check_all(d, &check, i);
        if (error != LMFI_END)
            return error;
    }
    return LMFI_OK;
}
