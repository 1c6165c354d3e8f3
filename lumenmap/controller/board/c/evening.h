/* The time of day, the evenings of the year's table, and a status lamp. player.h includes it. */
#ifndef LUMENMAP_EVENING_H
#define LUMENMAP_EVENING_H

#include "state.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Evenings: the table of the year says what plays (year.h). Without a known time its default does.
 * Set the time of day (UTC, seconds since 1970) whenever you learn it. */
void lmp_follow_table(lmp *p);
void lmp_set_time(lmp *p, uint32_t utc);
void lmp_lose_time(lmp *p);
uint32_t lmp_time(const lmp *p); /* 0 if it isn't known */

/* For a status lamp: 1 while it should be lit. Flashes, then a pause: 1 playing, 2 live, 3 dark by
 * the table or stopped, 4 the time isn't known (the default plays, if there is one), 5 no good
 * image, 6 a fault of reading, 7 the table is over or damaged; none while an image is opened. */
unsigned lmp_lamp(const lmp *p);
unsigned lmp_flashes(const lmp *p);

/* For player.c. */
void lmp_keep_time(lmp *p, uint32_t now);
void lmp_evening(lmp *p, uint32_t now);

#ifdef __cplusplus
}
#endif

#endif
