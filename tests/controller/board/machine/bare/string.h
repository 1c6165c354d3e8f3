/* The four functions of the C library that the player calls, for compilers that come without one. */
#ifndef BARE_STRING_H
#define BARE_STRING_H

#include <stddef.h>

void *memcpy(void *to, const void *from, size_t n);
void *memset(void *to, int value, size_t n);
int memcmp(const void *a, const void *b, size_t n);
int strcmp(const char *a, const char *b);

#endif
