/* Outlines, opened; within: which points lie in one. */

#include "outlines.h"

static const Kind face_kinds[FACES] = {
    {"planes", 8, 0}, {"margins", 8, 0}, {"axes", 8, 0}, {"ends", 8, 0}, {"corners", 8, 0},
};

static Outline outline_of(const double *corners, Py_ssize_t count)
{
    Outline out = {corners, count, corners[0], corners[0], corners[1], corners[1]};
    for (Py_ssize_t i = 1; i < count; i++) {
        const double x = corners[2 * i], y = corners[2 * i + 1];
        out.left = x < out.left ? x : out.left;
        out.right = x > out.right ? x : out.right;
        out.low = y < out.low ? y : out.low;
        out.high = y > out.high ? y : out.high;
    }
    return out;
}

Outline outline_at(const Faces *faces, Py_ssize_t face)
{
    return outline_of(faces->corners + 2 * faces->ends[face],
                      faces->ends[face + 1] - faces->ends[face]);
}

int open_faces(Faces *faces, Array *a, PyObject *from)
{
    PyObject *o[FACES];
    memset(a, 0, sizeof(Array) * FACES);
    if (!PyArg_ParseTuple(from, "OOOOO", &o[0], &o[1], &o[2], &o[3], &o[4])
        || !open_arrays(a, o, face_kinds, FACES))
        return 0;
    const Py_ssize_t count = a[MARGINS].count;
    const int64_t *axes = a[AXES].view.buf, *ends = a[ENDS].view.buf;
    int fits = a[PLANES].count == 4 * count && a[AXES].count == 2 * count
               && a[ENDS].count == count + 1 && ends[0] == 0
               && 2 * ends[count] == a[CORNERS].count;
    for (Py_ssize_t f = 0; fits && f < count; f++)
        fits = ends[f + 1] > ends[f] && axes[2 * f] >= 0 && axes[2 * f] < 3 && axes[2 * f + 1] >= 0
               && axes[2 * f + 1] < 3;
    if (!fits) {
        unfit("outlines");
        return 0;
    }
    *faces = (Faces){a[PLANES].view.buf, a[MARGINS].view.buf, a[CORNERS].view.buf, axes, ends,
                     count};
    return 1;
}

/* within(x, y, corners, out) */
PyObject *loops_within(PyObject *module, PyObject *args)
{
    enum { X, Y, CORNERS, OUT, COUNT };
    static const Kind kinds[COUNT] = {{"x", 8, 0}, {"y", 8, 0}, {"corners", 8, 0}, {"out", 1, 1}};
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOO", &o[0], &o[1], &o[2], &o[3]))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    if (a[Y].count != a[X].count || a[OUT].count != a[X].count || a[CORNERS].count < 2
        || a[CORNERS].count % 2) {
        unfit("within");
        goto end;
    }
    const double *x = a[X].view.buf, *y = a[Y].view.buf;
    uint8_t *out = a[OUT].view.buf;
    Py_BEGIN_ALLOW_THREADS
    const Outline outline = outline_of(a[CORNERS].view.buf, a[CORNERS].count / 2);
    for (Py_ssize_t i = 0; i < a[X].count; i++)
        out[i] = (uint8_t)within(&outline, x[i], y[i]);
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(a, COUNT);
    return done;
}
