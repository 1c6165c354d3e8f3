/* Lines and caps of an image in memory, and codes held to them. A cap is a budget (a supply, a
 * fuse, a wire) as the greatest sum of codes that it allows; FORMAT.md says how it is added up. */
#ifndef LUMENMAP_CAPS_H
#define LUMENMAP_CAPS_H

#include "lumenmap_flash.h"

#ifdef __cplusplus
extern "C" {
#endif

enum { LMC_LINES = 16 }; /* data lines at most */

typedef struct {
    uint32_t pixels, zones;
    uint8_t channels, lines, caps;
    lmfi_span line[LMC_LINES];
    uint64_t limit[LMFI_CAPS];
    const uint8_t *zone; /* as in the image: pixels, then a share for each cap */
} lmc_setup;

/* Octets of memory that an image's zones need. */
uint32_t lmc_size(const lmfi *d);

/* Reads lines and caps; `memory` holds the zones from then on. They are those that lmfi_open saw,
 * or it is LMFI_CORRUPT. */
int lmc_load(lmc_setup *s, const lmfi *d, uint8_t *memory, uint32_t size);

/* The sums of a frame in wire order; sums[k] is for cap k. */
void lmc_sums(const lmc_setup *s, const uint8_t *codes, uint64_t *sums);

/* How bright the codes may be, of 256: 256 if every sum is within its cap. */
unsigned lmc_share(const lmc_setup *s, const uint8_t *codes);

/* Turns codes down to `share` of 256, rounded down. */
void lmc_dim(uint8_t *codes, uint32_t size, unsigned share);

#ifdef __cplusplus
}
#endif

#endif
