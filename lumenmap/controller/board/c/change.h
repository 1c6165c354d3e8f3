/* Opening what is to play, having it checked, and fetching its frames; for player.c. */
#ifndef LUMENMAP_CHANGE_H
#define LUMENMAP_CHANGE_H

#include "state.h"

int lmp_fetch(lmp *p); /* the next frame; 0 if its second isn't checked yet */
void lmp_prepare(lmp *p, uint32_t now);
void lmp_change(lmp *p, uint32_t now);

#endif
