/* Some values at a time: sparse matrices times the light of several frames; the least of many. */

#ifndef LUMENMAP_LANES_H
#define LUMENMAP_LANES_H

#include "loops.h"

/* Values that are worked on at once, and how many such a block has: 16 frames of 3 channels. */
#define LANES 8
#define MOST 6
#define FRAMES (MOST * LANES / 3)

#if defined(__GNUC__)
typedef float Eight __attribute__((vector_size(4 * LANES), aligned(4), may_alias));
#define UNROLLED _Pragma("GCC unroll 8")
INSIDE void add(Eight *sum, float weight, const float *light)
{
    *sum += weight * *(const Eight *)light;
}
#else
typedef struct {
    float lane[LANES];
} Eight;
#define UNROLLED
INSIDE void add(Eight *sum, float weight, const float *light)
{
    for (int k = 0; k < LANES; k++)
        sum->lane[k] += weight * light[k];
}
#endif

typedef struct {
    const float *data;
    const int32_t *column;
    const int64_t *ends;
    const float *light; /* of each column, `eights` times LANES values */
} Matrix;

/* Add what the columns of a row contribute. The sums stay in registers: `eights` is a constant
wherever this becomes part of a function. */
INSIDE void add_row(Eight *sum, const Matrix *matrix, Py_ssize_t row, float scale, const int eights)
{
    const int64_t stop = matrix->ends[row + 1];
    for (int64_t e = matrix->ends[row]; e < stop; e++) {
        const float weight = matrix->data[e] * scale;
        const float *from = matrix->light + (Py_ssize_t)matrix->column[e] * eights * LANES;
        UNROLLED
        for (int k = 0; k < eights; k++)
            add(sum + k, weight, from + LANES * k);
    }
}

INSIDE void store(float *light, const Eight *sum, const int eights)
{
    UNROLLED
    for (int k = 0; k < eights; k++)
        *(Eight *)(light + LANES * k) = sum[k];
}

/* Room for so many distances, which `least` reads some at a time. */
#define ROOM(count) (((count) + LANES - 1) / LANES * LANES)

/* Return the first of the least of some numbers, at least one; there is ROOM(count) for them. */
INSIDE int least(float *away, int count)
{
#if defined(__GNUC__)
    typedef int32_t Places __attribute__((vector_size(4 * LANES), aligned(4), may_alias));
    for (int k = count; k < ROOM(count); k++)
        away[k] = away[0];
    Places low = *(const Places *)away, here = {0, 1, 2, 3, 4, 5, 6, 7}, at = here;
    for (int k = LANES; k < count; k += LANES) {
        const Places now = *(const Places *)(away + k), less = (Eight)now < (Eight)low;
        here += LANES;
        low = (now & less) | (low & ~less);
        at = (here & less) | (at & ~less);
    }
    int found = at[0];
    for (int k = 1; k < LANES && k < count; k++) {
        const float lead = away[found] - away[at[k]];
        if (lead > 0 || (lead == 0 && at[k] < found))
            found = at[k];
    }
    return found;
#else
    int found = 0;
    for (int k = 1; k < count; k++)
        if (away[k] < away[found])
            found = k;
    return found;
#endif
}

/* Whether so many values of a column are so many as loops `BY_WIDTH` take. */
INSIDE int known_width(int width)
{
    return width == LANES || width == LANES * MOST / 2 || width == LANES * MOST;
}

/* Define `loop_by_width(given, width)`: of a loop that takes its width in `eights`, one function for
each width that is known, in which it is a constant. */
#define BY_WIDTH(loop, Given) \
    WIDER static void loop##_still(const Given *given) { loop(given, 1); } \
    WIDER static void loop##_half(const Given *given) { loop(given, MOST / 2); } \
    WIDER static void loop##_block(const Given *given) { loop(given, MOST); } \
    static void loop##_by_width(const Given *given, int width) \
    { \
        if (width == LANES) \
            loop##_still(given); \
        else if (width == LANES * MOST) \
            loop##_block(given); \
        else \
            loop##_half(given); \
    }

#endif
