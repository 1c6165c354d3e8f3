/* Bit patterns for the pixels; see wire.h. WIRE.md has each kind's timing table and its sources. */
#include "wire.h"

#include <string.h>

enum { SHORT = 0x8, HALF = 0xc, LONG = 0xe };

static const lmw_kind kinds[] = {
    { "ws2811-12v", 3200000, SHORT, HALF, 280 },
    { "ws2811-12v-400k", 1600000, SHORT, HALF, 50 },
    { "ws2811-5v", 3200000, SHORT, HALF, 280 },
    { "ws2812b", 3200000, SHORT, LONG, 280 },
    { "ws2812b-v5", 3200000, SHORT, HALF, 280 },
    { "sk6812", 3200000, SHORT, HALF, 80 },
    { "sk6812-rgbw", 3200000, SHORT, HALF, 80 },
    { "apa102", 10000000, 0, 0, 0 },
};

const lmw_kind *lmw_at(unsigned index)
{
    return index < sizeof kinds / sizeof *kinds ? &kinds[index] : 0;
}

const lmw_kind *lmw_find(const char *name)
{
    unsigned i;
    for (i = 0; lmw_at(i); i++)
        if (strcmp(kinds[i].name, name) == 0)
            return &kinds[i];
    return 0;
}

void lmw_spi(const lmw_kind *kind, const uint8_t *codes, uint32_t size, uint8_t *out)
{
    for (; size; size--, codes++) {
        unsigned bit;
        for (bit = 0; bit < 8; bit += 2) {
            const unsigned high = *codes >> (7 - bit) & 1 ? kind->one : kind->zero;
            const unsigned low = *codes >> (6 - bit) & 1 ? kind->one : kind->zero;
            *out++ = (uint8_t)(high << 4 | low);
        }
    }
}

/* The wire's bits 1 to 6 of two data bits, in order, inverted, the first in the lowest place. */
static uint8_t character(unsigned eight)
{
    unsigned i, c = 0;
    for (i = 0; i < 6; i++)
        c |= (~eight >> (6 - i) & 1) << i;
    return (uint8_t)c;
}

void lmw_uart(const lmw_kind *kind, const uint8_t *codes, uint32_t size, uint8_t *out)
{
    for (; size; size--, codes++, out += 4) {
        unsigned i;
        lmw_spi(kind, codes, 1, out);
        for (i = 0; i < 4; i++)
            out[i] = character(out[i]);
    }
}

uint32_t lmw_reset_octets(const lmw_kind *kind)
{
    return kind->hertz / 1000 * kind->reset_us / 8000 + 2; /* a little more than it asks for */
}

/* A bit takes half a clock longer at each pixel, so the end frame has half a bit for each. */
uint32_t lmw_two_wire_size(uint32_t pixels)
{
    return 4 + 4 * pixels + pixels / 16 + 5;
}

uint32_t lmw_two_wire(const uint8_t *codes, uint32_t pixels, uint8_t *out)
{
    const uint32_t size = lmw_two_wire_size(pixels);
    uint32_t i;
    memset(out, 0, (size_t)size);
    for (i = 0, out += 4; i < pixels; i++, codes += 3, out += 4) {
        out[0] = 0xff; /* three ones, and the part's own 5-bit level: all of it */
        memcpy(out + 1, codes, 3);
    }
    return size;
}
