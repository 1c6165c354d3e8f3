/* Frames over a serial line (PROTOCOL.md): hand over octets as they come. A good frame takes over
 * from the stored show; 2.5 s without one, or an end, gives back. Portable C99, usable from C++.
 *
 * Use this or live.h at a time: the one that came first keeps the frame until it gives back.
 */
#ifndef LUMENMAP_SERIAL_H
#define LUMENMAP_SERIAL_H

#include "player.h"

#ifdef __cplusplus
extern "C" {
#endif

enum { LMS_FRAME = 1, LMS_END = 3, LMS_HEAD = 8, LMS_LOSS_MS = 2500 };

typedef struct {
    lmp *player;
    uint8_t head[LMS_HEAD]; /* LM, type, sequence, count of codes */
    uint32_t at;            /* octets of the frame so far */
    uint32_t crc, wanted, last;
    uint8_t live, bad;      /* bad: frames whose CRC was wrong, up to 255 */
} lms;

void lms_init(lms *s, lmp *player);
void lms_octets(lms *s, const uint8_t *octets, uint32_t count);
void lms_step(lms *s);

#ifdef __cplusplus
}
#endif

#endif
