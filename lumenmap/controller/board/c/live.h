/* Receives E1.31 (sACN) and takes over from the stored show; gives back 2.5 s after the last
 * packet, or at once when the sender says that it has stopped. Portable C99, usable from C++.
 *
 * Hand every UDP packet that arrives on port 5568 to lml_packet, unicast or of a multicast group
 * (lml_universe and lml_group name those to join); call lml_step beside lmp_step.
 *
 * Each universe has one source: the one of the highest priority. Of several with the same priority
 * the first one stays. Preview data, start codes other than 0 and late packets are ignored. Frames
 * go through the same caps as stored ones; one that is over them is dimmed.
 */
#ifndef LUMENMAP_LIVE_H
#define LUMENMAP_LIVE_H

#include "player.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    LML_PORT = 5568,
    LML_PACKET = 1144,    /* the longest there is; data has at most 638 octets */
    LML_UNIVERSES = 64,
    LML_LOSS_MS = 2500,   /* E131_NETWORK_DATA_LOSS_TIMEOUT */
    LML_GATHER_MS = 20,   /* a frame some of whose universes don't come is shown after this */
    LML_LEAST_MS = 8      /* between frames */
};

enum {
    LML_TAKEN = 0,
    LML_NOT_E131 = 1,  /* another protocol, or damaged */
    LML_NOT_OURS = 2,  /* a universe that no line has */
    LML_NOT_LIGHT = 3, /* another start code, or preview data */
    LML_LATE = 4,      /* its sequence number says that it comes too late */
    LML_LOWER = 5,     /* another source has this universe */
    LML_ENDED = 6,     /* its sender has stopped */
    LML_NOBODY = 7     /* no image has said yet what the lines and caps are */
};

typedef struct {
    uint8_t cid[16];
    uint8_t priority, sequence;
    uint8_t active, fresh, free_run;
    uint8_t others, orphan; /* others are heard as well; its source has ended, and one may follow */
    uint16_t sync;
    uint32_t last, heard;   /* ms; heard: one of the others */
} lml_source;

typedef struct {
    lmp *player;
    uint8_t heeds_sync, synced, begun;
    uint16_t sync_address;
    uint8_t sync_sequence, sync_cid[16];
    uint32_t sync_last, fresh_since, shown_at;
    lml_source source[LML_UNIVERSES];
} lml;

/* `heeds_sync`: wait for synchronisation packets where the sender names a universe for them. */
void lml_init(lml *l, lmp *player, unsigned heeds_sync);
int lml_packet(lml *l, const uint8_t *packet, uint32_t size);
void lml_step(lml *l);

/* The universes that the lines take, from index 0; 0 after the last. Their IPv4 group is
 * 239.255.HIGH.LOW, as a number with its first octet on top. */
uint16_t lml_universe(const lml *l, unsigned index);
uint32_t lml_group(uint16_t universe);

#ifdef __cplusplus
}
#endif

#endif
