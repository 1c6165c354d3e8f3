/* Reference decoder of the lumenmap flash image (FORMAT.md), portable C99, usable from C++.
 *
 * No allocation, no dependencies, no recursion. Memory: one frame buffer of yours
 * (lmfi_frame_size octets) and one lmfi, under 2 KB. Any octets may be given: an image that is cut
 * short or damaged ends in an error code, never in a read or write outside these two. No frame is
 * given before all octets of its second were read and their CRC found right.
 *
 *   static lmfi show;
 *   static uint8_t frame[3 * 500];
 *   int error = lmfi_open(&show, my_read, NULL, image_size);
 *   if (!error && lmfi_frame_size(&show) > sizeof frame)
 *       error = LMFI_RANGE;
 *   while (!error && (error = lmfi_next(&show, frame)) == LMFI_OK)
 *       send_to_pixels(frame);
 *   if (error != LMFI_END)
 *       send_black();
 *
 * player.h does all that a board has to do, pace and loop and budgets among them.
 */
#ifndef LUMENMAP_FLASH_H
#define LUMENMAP_FLASH_H

#include "lumenmap_image.h"

#ifdef __cplusplus
extern "C" {
#endif

int lmfi_open(lmfi *d, lmfi_reader read, void *user, uint32_t size);
uint32_t lmfi_frame_size(const lmfi *d); /* octets: pixels * channels */
int lmfi_line(const lmfi *d, uint32_t number, lmfi_span *line);
int lmfi_seek(lmfi *d, uint32_t frame, uint8_t *buffer); /* decodes `frame` */
int lmfi_next(lmfi *d, uint8_t *buffer);                 /* decodes the one after, in place */
int lmfi_verify(lmfi *d);                                /* reads and checks every segment */

/* For programs that must not wait: a segment checked a little at a time while another plays.
 * lmfi_check_some reads at most `most` octets more; LMFI_END says that all are right. lmfi_begin
 * then lets lmfi_next go on with that segment. */
uint32_t lmfi_segments(const lmfi *d);
int lmfi_check_begin(const lmfi *d, lmfi_check *check, uint32_t segment);
int lmfi_check_some(const lmfi *d, lmfi_check *check, uint32_t most);
int lmfi_begin(lmfi *d, const lmfi_check *check);

#ifdef __cplusplus
}
#endif

#endif
