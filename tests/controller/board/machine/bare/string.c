/* As simple as can be, so that the instructions counted are not a clever library's. */
#include "string.h"

void *memcpy(void *to, const void *from, size_t n)
{
    unsigned char *t = (unsigned char *)to;
    const unsigned char *f = (const unsigned char *)from;
    while (n--)
        *t++ = *f++;
    return to;
}

void *memset(void *to, int value, size_t n)
{
    unsigned char *t = (unsigned char *)to;
    while (n--)
        *t++ = (unsigned char)value;
    return to;
}

int memcmp(const void *a, const void *b, size_t n)
{
    const unsigned char *p = (const unsigned char *)a, *q = (const unsigned char *)b;
    for (; n; n--, p++, q++)
        if (*p != *q)
            return *p < *q ? -1 : 1;
    return 0;
}

int strcmp(const char *a, const char *b)
{
    while (*a && *a == *b)
        a++, b++;
    return (unsigned char)*a - (unsigned char)*b;
}
