/* Plays lumenmap flash images on a small board: portable C99, usable from C++, no allocation.
 *
 * You supply four functions. `read` copies octets of an image (you number them, from 0) and returns
 * 0 if it could; `show` sends the codes of a data line to its pixels, in wire order; `millis` counts
 * milliseconds and may wrap; `yield` lets the rest of the board run and may do nothing.
 *
 *   static lmp player;
 *   static uint8_t memory[LMP_MEMORY(3 * 500, 64)];
 *   lmp_init(&player, &board, memory, sizeof memory, 1);
 *   lmp_play(&player, 0);
 *   for (;;)
 *       lmp_step(&player);
 *
 * Each second of a show is read and its CRC checked before the first of its frames is shown. A
 * frame is shown only if the sums of its codes are within the caps that the exporter wrote. On any
 * error everything goes black, and the show is tried again after a while.
 */
#ifndef LUMENMAP_PLAYER_H
#define LUMENMAP_PLAYER_H

#include "evening.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Memory for frames of so many octets (pixels * channels) and so many octets of zones (lmc_size);
 * board.h has the number for your house. */
#define LMP_MEMORY(frame, zones) (2u * (frame) + (zones))

/* `lines`: data lines of the board, made black when no image says how long they are. */
void lmp_init(lmp *p, const lmp_board *board, uint8_t *memory, uint32_t size, unsigned lines);
/* Plays an image in a loop, from its start. What plays now goes on until the other is ready. */
void lmp_play(lmp *p, uint32_t image);
void lmp_set_level(lmp *p, uint8_t level); /* brightness of stored shows; 255 is all of it */
lmp_state lmp_step(lmp *p);                /* does what is due; call it again and again */

/* Frames from outside (live.h uses these). lmp_live_begin gives the frame to fill, black at first
 * and in wire order, or NULL while no image has said what the lines and caps are. lmp_live_show
 * dims it, if need be, until its sums are within the caps. */
uint8_t *lmp_live_begin(lmp *p);
void lmp_live_show(lmp *p);
void lmp_live_end(lmp *p);

#ifdef __cplusplus
}
#endif

#endif
