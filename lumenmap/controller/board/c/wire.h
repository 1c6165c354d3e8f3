/* Codes as the bit patterns that an SPI or UART peripheral sends to the pixels: pure functions, no
 * hardware. Portable C99, usable from C++.
 *
 * One-wire kinds: a data bit is sent as 4 bits of a four times faster clock, "1000" for a 0, and
 * "1100" or "1110" for a 1. SPI sends the highest bit first; its data line must be low when idle,
 * and its clock runs without pauses between octets (DMA). A UART makes two data bits of each
 * character, 6 data bits, no parity, 1 stop bit, with its output inverted: the start bit is the
 * first 1, the stop bit the last 0.
 *
 * Two-wire kinds: SPI with its clock, mode 0.
 */
#ifndef LUMENMAP_WIRE_H
#define LUMENMAP_WIRE_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct {
    const char *name;  /* as in the table of pixel kinds */
    uint32_t hertz;    /* of SPI, baud of a UART */
    uint8_t zero, one; /* four bits for each; both 0 for two-wire kinds */
    uint16_t reset_us; /* low for so long after each frame */
} lmw_kind;

/* Returns the kind of that name, or NULL. */
const lmw_kind *lmw_find(const char *name);
const lmw_kind *lmw_at(unsigned index); /* NULL after the last */

/* One-wire kinds: 4 octets for each code into `out`. */
void lmw_spi(const lmw_kind *kind, const uint8_t *codes, uint32_t size, uint8_t *out);
void lmw_uart(const lmw_kind *kind, const uint8_t *codes, uint32_t size, uint8_t *out);
/* Zero octets that SPI sends before the first code (one is enough for a clean start) and after
 * the last: the reset. */
uint32_t lmw_reset_octets(const lmw_kind *kind);

/* Two-wire kinds: start frame, 4 octets a pixel, end frame; returns how many, of at most
 * lmw_two_wire_size(pixels). `codes` has three a pixel in the wire's order. */
uint32_t lmw_two_wire_size(uint32_t pixels);
uint32_t lmw_two_wire(const uint8_t *codes, uint32_t pixels, uint8_t *out);

#ifdef __cplusplus
}
#endif

#endif
