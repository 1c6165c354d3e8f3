/* Outlines: flat faces, flattened onto two of the axes. */

#ifndef LUMENMAP_OUTLINES_H
#define LUMENMAP_OUTLINES_H

#include "loops.h"

typedef struct {
    const double *corners; /* (x, y) each */
    Py_ssize_t count;
    double left, right, low, high;
} Outline;

typedef struct {
    const double *planes, *margins, *corners;
    const int64_t *axes, *ends;
    Py_ssize_t count;
} Faces;

/* The arrays of Python's Outlines, in their order. */
enum { PLANES, MARGINS, AXES, ENDS, CORNERS, FACES };

/* Open Outlines; 0 with an error set if they aren't. */
int open_faces(Faces *faces, Array *arrays, PyObject *from);

/* Return the outline of one of the faces. */
Outline outline_at(const Faces *faces, Py_ssize_t face);

/* Whether a point is within an outline, by the even-odd rule. */
INSIDE int within(const Outline *outline, double x, double y)
{
    if (!(x >= outline->left && x <= outline->right && y >= outline->low && y <= outline->high))
        return 0;
    int odd = 0;
    const double *p = outline->corners;
    for (Py_ssize_t i = 0; i < outline->count; i++, p += 2) {
        const double *q = i + 1 < outline->count ? p + 2 : outline->corners;
        if ((p[1] > y) != (q[1] > y))
            odd ^= x < p[0] + (y - p[1]) * ((q[0] - p[0]) / (q[1] - p[1]));
    }
    return odd;
}

/* How far a point is in front of a plane. */
INSIDE double before(const double *plane, const double *at)
{
    return at[0] * plane[0] + at[1] * plane[1] + at[2] * plane[2] - plane[3];
}

#endif
