/* Octets, CRC and bits of the lumenmap flash image. See lumenmap_bits.h. */
#include "lumenmap_bits.h"

uint32_t lmfi_u32(const uint8_t *p)
{
    return p[0] | (uint32_t)p[1] << 8 | (uint32_t)p[2] << 16 | (uint32_t)p[3] << 24;
}

/* CRC-32 as in Ethernet, zlib and PNG, four bits at a time. */
uint32_t lmfi_crc32(uint32_t crc, const uint8_t *p, uint32_t n)
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

void lmfi_start_bits(lmfi *d, uint32_t offset, uint32_t size)
{
    d->at = offset;
    d->end = offset + size;
    d->crc = 0xffffffff;
    d->held = d->used = 0;
    d->window = 0;
    d->ready = 0;
    d->broken = LMFI_OK;
}

int lmfi_fill(lmfi *d)
{
    uint32_t n = d->end - d->at;
    if (n > LMFI_BUFFER)
        n = LMFI_BUFFER;
    d->held = d->used = 0;
    if (n == 0)
        return LMFI_CORRUPT;
    if (d->read(d->user, d->at, d->buffer, n) != 0)
        return LMFI_READ;
    d->crc = lmfi_crc32(d->crc, d->buffer, n);
    d->at += n;
    d->held = (uint16_t)n;
    return LMFI_OK;
}

void lmfi_refill(lmfi *d)
{
    while (d->ready <= 24) {
        if (d->used == d->held && (d->at == d->end || d->broken))
            return;
        if (d->used == d->held) {
            d->broken = (uint8_t)-lmfi_fill(d);
            if (d->broken)
                return;
        }
        d->window |= (uint32_t)d->buffer[d->used++] << (24 - d->ready);
        d->ready = (uint8_t)(d->ready + 8);
    }
}

uint32_t lmfi_bits(lmfi *d, unsigned n)
{
    uint32_t value;
    if (n == 0)
        return 0;
    if (d->ready < n)
        lmfi_refill(d);
    value = d->window >> (32 - n);
    lmfi_use(d, n);
    return value;
}
