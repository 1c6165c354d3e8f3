/* within, blocked: what stands between points. */

#include "loops.h"

typedef struct {
    const double *corners; /* (x, y) each */
    Py_ssize_t count;
    double left, right, low, high;
} Outline;

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

/* Whether a point is within an outline, by the even-odd rule. */
static int within(const Outline *outline, double x, double y)
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

/* One face; `across`, `up`: the two axes onto which it is flattened. */
static void shade(const double *plane, double margin, int across, int up, const Outline *outline,
                  const double *starts, Py_ssize_t points, const double *stops, Py_ssize_t ends,
                  const Far *far, uint8_t *out)
{
    for (int side = 1; side >= -1; side -= 2) {
        Py_ssize_t count = 0;
        for (Py_ssize_t j = 0; j < ends; j++) {
            const double *stop = stops + 3 * j;
            const float b = (float)(stop[0] * plane[0] + stop[1] * plane[1] + stop[2] * plane[2]
                                    - plane[3]);
            far->b[count] = b;
            far->u[count] = (float)stop[across];
            far->v[count] = (float)stop[up];
            far->number[count] = j;
            count += side * b < -margin;
        }
        for (Py_ssize_t i = 0; count && i < points; i++) {
            const double *start = starts + 3 * i;
            const float a = (float)(start[0] * plane[0] + start[1] * plane[1]
                                    + start[2] * plane[2] - plane[3]);
            if (!(side * a > margin))
                continue;
            meet(far, count, a, (float)start[across], (float)start[up]);
            for (Py_ssize_t j = 0; j < count; j++)
                if (within(outline, far->met_u[j], far->met_v[j]))
                    out[i * ends + far->number[j]] = 1;
        }
    }
}

/* blocked(starts, stops, planes, margins, axes, ends, corners, out): faces by plane (normal and
level), margin, two axes, and where the corners of each begin and end. */
PyObject *loops_blocked(PyObject *module, PyObject *args)
{
    enum { STARTS, STOPS, PLANES, MARGINS, AXES, ENDS, CORNERS, OUT, COUNT };
    static const Kind kinds[COUNT] = {
        {"starts", 8, 0}, {"stops", 8, 0}, {"planes", 8, 0},  {"margins", 8, 0},
        {"axes", 8, 0},   {"ends", 8, 0},  {"corners", 8, 0}, {"out", 1, 1},
    };
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    void *room = NULL;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOOOO", &o[0], &o[1], &o[2], &o[3], &o[4], &o[5], &o[6], &o[7]))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    const Py_ssize_t points = a[STARTS].count / 3, stops = a[STOPS].count / 3,
                     faces = a[MARGINS].count;
    const int64_t *axes = a[AXES].view.buf, *ends = a[ENDS].view.buf;
    int fits = a[PLANES].count == 4 * faces && a[AXES].count == 2 * faces
               && a[ENDS].count == faces + 1 && ends[0] == 0
               && 2 * ends[faces] == a[CORNERS].count && a[OUT].count == points * stops;
    for (Py_ssize_t f = 0; fits && f < faces; f++)
        fits = ends[f + 1] > ends[f] && axes[2 * f] >= 0 && axes[2 * f] < 3 && axes[2 * f + 1] >= 0
               && axes[2 * f + 1] < 3;
    if (!fits) {
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
    for (Py_ssize_t f = 0; f < faces; f++) {
        const double *corners = (const double *)a[CORNERS].view.buf + 2 * ends[f];
        const Outline outline = outline_of(corners, ends[f + 1] - ends[f]);
        shade((const double *)a[PLANES].view.buf + 4 * f,
              ((const double *)a[MARGINS].view.buf)[f], (int)axes[2 * f], (int)axes[2 * f + 1],
              &outline, a[STARTS].view.buf, points, a[STOPS].view.buf, stops, &far,
              a[OUT].view.buf);
    }
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    PyMem_Free(room);
    close_arrays(a, COUNT);
    return done;
}
