/* The table of the year; see year.h and PROTOCOL.md. */
#include "year.h"
#include "lumenmap_bits.h"

#include <string.h>

typedef struct {
    uint32_t entries, from, to, ids;
    uint8_t images, image, level;
} head;

static int read_head(head *h, const uint8_t *p)
{
    if (memcmp(p, "LMYT", 4) != 0 || p[4] != 1)
        return LMY_FORMAT;
    h->images = p[5];
    h->image = p[6];
    h->level = p[7];
    h->entries = lmfi_u32(p + 8);
    h->from = lmfi_u32(p + 12);
    h->to = lmfi_u32(p + 16);
    if (h->images > LMY_IMAGES || h->entries > 65535 || h->from > h->to || lmfi_u32(p + 20) != 0
        || (h->image != LMY_NO_IMAGE && h->image >= h->images))
        return LMY_CORRUPT;
    return LMY_PLAY;
}

/* Takes an entry into account; 0 if it contradicts the others. */
static int take(const head *h, const uint8_t *p, uint32_t utc, uint32_t *last, lmy_piece *piece,
                int *found)
{
    const uint32_t start = lmfi_u32(p), stop = lmfi_u32(p + 4);
    const uint32_t back = p[8] | (uint32_t)p[9] << 8;
    if (start < *last || stop <= start || p[10] >= h->images || back > start)
        return 0;
    *last = stop;
    if (utc >= start && utc < stop) {
        *found = 1;
        piece->begun = start - back;
        piece->until = stop;
        piece->image = p[10];
        piece->level = p[11];
    } else if (utc < start && start < piece->until) {
        piece->until = start;
    }
    return 1;
}

static int look(lmy_reader read, void *user, const uint32_t *utc, lmy_piece *piece)
{
    uint8_t octets[LMY_HEAD], ids[4 * LMY_IMAGES];
    uint32_t crc = 0xffffffff, at = LMY_HEAD, last = 0, i;
    int found = 0, sound = 1, error;
    head h;
    memset(piece, 0, sizeof *piece);
    if (read(user, 0, octets, LMY_HEAD) != 0)
        return LMY_READ;
    if ((error = read_head(&h, octets)) != LMY_PLAY)
        return error;
    crc = lmfi_crc32(crc, octets, LMY_HEAD);
    if (h.images && read(user, at, ids, 4u * h.images) != 0)
        return LMY_READ;
    crc = lmfi_crc32(crc, ids, 4u * h.images);
    at += 4u * h.images;
    piece->until = h.to;
    for (i = 0; i < h.entries; i++, at += LMY_ENTRY) {
        if (read(user, at, octets, LMY_ENTRY) != 0)
            return LMY_READ;
        crc = lmfi_crc32(crc, octets, LMY_ENTRY);
        sound = take(&h, octets, utc ? *utc : 0, &last, piece, &found) && sound;
    }
    if (read(user, at, octets, 4) != 0)
        return LMY_READ;
    if (!sound || lmfi_u32(octets) != (crc ^ 0xffffffff))
        return LMY_CORRUPT;
    if (!utc) {
        piece->image = h.image;
        piece->level = h.level;
        piece->begun = piece->until = 0;
        found = h.image != LMY_NO_IMAGE;
    } else if (*utc < h.from || *utc >= h.to) {
        if (*utc < h.from)
            piece->until = h.from;
        return LMY_OVER;
    }
    if (found)
        piece->id = lmfi_u32(ids + 4 * piece->image);
    return found ? LMY_PLAY : LMY_DARK;
}

int lmy_look(lmy_reader read, void *user, uint32_t utc, lmy_piece *piece)
{
    return look(read, user, &utc, piece);
}

int lmy_default(lmy_reader read, void *user, lmy_piece *piece)
{
    return look(read, user, 0, piece);
}
