/* Frames over a serial line; see serial.h. */
#include "serial.h"
#include "lumenmap_bits.h"

#include <string.h>

void lms_init(lms *s, lmp *player)
{
    memset(s, 0, sizeof *s);
    s->player = player;
}

static uint32_t frame_octets(const lms *s)
{
    return s->player->loaded ? s->player->setup.pixels * s->player->setup.channels : 0;
}

/* Starts again; an L or LM at the end of what was read may be a frame's beginning. */
static void resume(lms *s)
{
    const uint32_t n = s->at;
    uint32_t i = 1;
    while (i < n && (s->head[i] != 'L' || (i + 1 < n && s->head[i + 1] != 'M')))
        i++;
    for (s->at = 0; i < n; i++)
        s->head[s->at++] = s->head[i];
}

/* Whether the head, as far as it has come, can be one. */
static int plausible(const lms *s)
{
    if (s->head[0] != 'L' || (s->at > 1 && s->head[1] != 'M'))
        return 0;
    if (s->at > 2 && s->head[2] != LMS_FRAME && s->head[2] != LMS_END)
        return 0;
    return s->at < LMS_HEAD || lmfi_u32(s->head + 4) == frame_octets(s);
}

static void finish(lms *s)
{
    s->at = 0;
    if ((s->crc ^ 0xffffffff) != s->wanted) {
        s->bad = (uint8_t)(s->bad < 255 ? s->bad + 1 : 255);
        return;
    }
    s->last = s->player->board.millis(s->player->board.user);
    if (s->head[2] == LMS_FRAME && s->live) {
        lmp_live_show(s->player);
    } else if (s->live) {
        s->live = 0;
        lmp_live_end(s->player);
    }
}

/* The frame's codes go straight to where they are shown from; they are shown if the CRC is right,
 * and every frame writes all of them. */
static void take_code(lms *s, uint8_t octet)
{
    if (!s->live && s->head[2] == LMS_FRAME && s->player->state != LMP_LIVE)
        s->live = lmp_live_begin(s->player) != 0;
    if (s->live && s->head[2] == LMS_FRAME)
        s->player->frame[s->at - LMS_HEAD] = octet;
}

void lms_octets(lms *s, const uint8_t *octets, uint32_t count)
{
    const uint32_t size = frame_octets(s);
    for (; size && count; count--, octets++) {
        if (s->at < LMS_HEAD) {
            s->head[s->at++] = *octets;
            if (!plausible(s))
                resume(s);
            if (s->at == LMS_HEAD) {
                s->crc = lmfi_crc32(0xffffffff, s->head + 2, LMS_HEAD - 2);
                s->wanted = 0;
            }
            continue;
        }
        if (s->at < LMS_HEAD + size) {
            s->crc = lmfi_crc32(s->crc, octets, 1);
            take_code(s, *octets);
        } else {
            s->wanted |= (uint32_t)*octets << 8 * (s->at - LMS_HEAD - size);
        }
        if (++s->at == LMS_HEAD + size + 4)
            finish(s);
    }
}

void lms_step(lms *s)
{
    if (s->live && s->player->board.millis(s->player->board.user) - s->last > LMS_LOSS_MS) {
        s->live = 0;
        s->at = 0;
        lmp_live_end(s->player);
    }
}
