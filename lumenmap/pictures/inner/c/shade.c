/* blocked, apart: what stands between points. */

#include "outlines.h"

/* Stops on the far side of a face: their distances from its plane, places on it, and numbers. */
typedef struct {
    float *b, *u, *v, *met_u, *met_v;
    Py_ssize_t *number;
} Far;

/* Where the lines from one start to all stops meet the plane. */
WIDER static void meet(const Far *far, Py_ssize_t count, float a, float u, float v)
{
    for (Py_ssize_t j = 0; j < count; j++) {
        const float part = a / (a - far->b[j]);
        far->met_u[j] = u + part * (far->u[j] - u);
        far->met_v[j] = v + part * (far->v[j] - v);
    }
}

/* Mark what one face blocks. */
static void shade(const Faces *faces, Py_ssize_t face, const double *starts, Py_ssize_t points,
                  const double *stops, Py_ssize_t ends, const Far *far, uint8_t *out)
{
    const double *plane = faces->planes + 4 * face, margin = faces->margins[face];
    const int64_t across = faces->axes[2 * face], up = faces->axes[2 * face + 1];
    const Outline outline = outline_at(faces, face);
    for (int side = 1; side >= -1; side -= 2) {
        Py_ssize_t count = 0;
        for (Py_ssize_t j = 0; j < ends; j++) {
            far->b[count] = (float)before(plane, stops + 3 * j);
            far->u[count] = (float)stops[3 * j + across];
            far->v[count] = (float)stops[3 * j + up];
            far->number[count] = j;
            count += side * far->b[count] < -margin;
        }
        for (Py_ssize_t i = 0; count && i < points; i++) {
            const double *start = starts + 3 * i;
            const float a = (float)before(plane, start);
            if (!(side * a > margin))
                continue;
            meet(far, count, a, (float)start[across], (float)start[up]);
            for (Py_ssize_t j = 0; j < count; j++)
                if (within(&outline, far->met_u[j], far->met_v[j]))
                    out[i * ends + far->number[j]] = 1;
        }
    }
}

/* blocked(starts, stops, faces, out) */
PyObject *loops_blocked(PyObject *module, PyObject *args)
{
    enum { STARTS, STOPS, OUT, COUNT };
    static const Kind kinds[COUNT] = {{"starts", 8, 0}, {"stops", 8, 0}, {"out", 1, 1}};
    PyObject *from, *o[COUNT], *done = NULL;
    Array of_faces[FACES], a[COUNT];
    Faces faces;
    void *room = NULL;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOO", &o[0], &o[1], &from, &o[2]))
        return NULL;
    memset(a, 0, sizeof a);
    if (!open_faces(&faces, of_faces, from) || !open_arrays(a, o, kinds, COUNT))
        goto end;
    const Py_ssize_t points = a[STARTS].count / 3, stops = a[STOPS].count / 3;
    if (a[OUT].count != points * stops) {
        unfit("blocked");
        goto end;
    }
    room = PyMem_Malloc((5 * sizeof(float) + sizeof(Py_ssize_t)) * (size_t)(stops + 1));
    if (room == NULL) {
        PyErr_NoMemory();
        goto end;
    }
    Py_BEGIN_ALLOW_THREADS
    Far far = {.number = room};
    far.b = (float *)(far.number + stops + 1);
    far.u = far.b + stops + 1;
    far.v = far.u + stops + 1;
    far.met_u = far.v + stops + 1;
    far.met_v = far.met_u + stops + 1;
    for (Py_ssize_t f = 0; f < faces.count; f++)
        shade(&faces, f, a[STARTS].view.buf, points, a[STOPS].view.buf, stops, &far,
              a[OUT].view.buf);
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    PyMem_Free(room);
    close_arrays(of_faces, FACES);
    close_arrays(a, COUNT);
    return done;
}

/* apart(starts, stops, one, two, faces, out): of pairs, by the numbers of start and stop. */
PyObject *loops_apart(PyObject *module, PyObject *args)
{
    enum { STARTS, STOPS, ONE, TWO, OUT, COUNT };
    static const Kind kinds[COUNT] = {
        {"starts", 8, 0}, {"stops", 8, 0}, {"one", 8, 0}, {"two", 8, 0}, {"out", 1, 1},
    };
    PyObject *from, *o[COUNT], *done = NULL;
    Array of_faces[FACES], a[COUNT];
    Faces faces;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOO", &o[0], &o[1], &o[2], &o[3], &from, &o[4]))
        return NULL;
    memset(a, 0, sizeof a);
    if (!open_faces(&faces, of_faces, from) || !open_arrays(a, o, kinds, COUNT))
        goto end;
    const double *starts = a[STARTS].view.buf, *stops = a[STOPS].view.buf;
    const int64_t *one = a[ONE].view.buf, *two = a[TWO].view.buf;
    const Py_ssize_t pairs = a[ONE].count, points = a[STARTS].count / 3, ends = a[STOPS].count / 3;
    uint8_t *out = a[OUT].view.buf;
    int fits = a[TWO].count == pairs && a[OUT].count == pairs;
    for (Py_ssize_t k = 0; fits && k < pairs; k++)
        fits = one[k] >= 0 && one[k] < points && two[k] >= 0 && two[k] < ends;
    if (!fits) {
        unfit("apart");
        goto end;
    }
    Py_BEGIN_ALLOW_THREADS
    for (Py_ssize_t f = 0; f < faces.count; f++) {
        const double *plane = faces.planes + 4 * f, margin = faces.margins[f];
        const int64_t across = faces.axes[2 * f], up = faces.axes[2 * f + 1];
        const Outline outline = outline_at(&faces, f);
        for (Py_ssize_t k = 0; k < pairs; k++) {
            const double *start = starts + 3 * one[k], *stop = stops + 3 * two[k];
            const double here = before(plane, start), there = before(plane, stop);
            if (out[k] || !((here > margin && there < -margin) || (here < -margin && there > margin)))
                continue;
            const double part = here / (here - there);
            out[k] = (uint8_t)within(&outline, start[across] + part * (stop[across] - start[across]),
                                     start[up] + part * (stop[up] - start[up]));
        }
    }
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(of_faces, FACES);
    close_arrays(a, COUNT);
    return done;
}
