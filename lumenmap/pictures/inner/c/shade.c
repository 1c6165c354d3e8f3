/* within, blocked, apart, sunlit: what stands between points. */

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

/* The arrays of Outlines, in their order. */
enum { PLANES, MARGINS, AXES, ENDS, CORNERS, FACES };
static const Kind face_kinds[FACES] = {
    {"planes", 8, 0}, {"margins", 8, 0}, {"axes", 8, 0}, {"ends", 8, 0}, {"corners", 8, 0},
};

typedef struct {
    const double *planes, *margins, *corners;
    const int64_t *axes, *ends;
    Py_ssize_t count;
} Faces;

/* Open Outlines; 0 with an error set if they aren't. */
static int open_faces(Faces *faces, Array *a, PyObject *from)
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

static Outline outline_at(const Faces *faces, Py_ssize_t face)
{
    return outline_of(faces->corners + 2 * faces->ends[face],
                      faces->ends[face + 1] - faces->ends[face]);
}

/* How far a point is in front of a plane. */
static double before(const double *plane, const double *at)
{
    return at[0] * plane[0] + at[1] * plane[1] + at[2] * plane[2] - plane[3];
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

/* sunlit(starts, normals, towards, faces, margin, far, out): where the light from a direction gets
to, past all faces that are more than `margin` and less than `far` away. */
PyObject *loops_sunlit(PyObject *module, PyObject *args)
{
    enum { STARTS, NORMALS, TOWARDS, OUT, COUNT };
    static const Kind kinds[COUNT] = {
        {"starts", 8, 0}, {"normals", 8, 0}, {"towards", 8, 0}, {"out", 1, 1},
    };
    PyObject *from, *o[COUNT], *done = NULL;
    Array of_faces[FACES], a[COUNT];
    Faces faces;
    double margin, far;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOddO", &o[0], &o[1], &o[2], &from, &margin, &far, &o[3]))
        return NULL;
    memset(a, 0, sizeof a);
    if (!open_faces(&faces, of_faces, from) || !open_arrays(a, o, kinds, COUNT))
        goto end;
    const Py_ssize_t points = a[OUT].count;
    if (a[STARTS].count != 3 * points || a[NORMALS].count != 3 * points || a[TOWARDS].count != 3) {
        unfit("sunlit");
        goto end;
    }
    const double *starts = a[STARTS].view.buf, *normals = a[NORMALS].view.buf,
                 *towards = a[TOWARDS].view.buf;
    uint8_t *out = a[OUT].view.buf;
    Py_BEGIN_ALLOW_THREADS
    for (Py_ssize_t i = 0; i < points; i++) {
        const double *normal = normals + 3 * i;
        out[i] = normal[0] * towards[0] + normal[1] * towards[1] + normal[2] * towards[2] > 0;
    }
    for (Py_ssize_t f = 0; f < faces.count; f++) {
        const double *plane = faces.planes + 4 * f;
        const int64_t across = faces.axes[2 * f], up = faces.axes[2 * f + 1];
        const Outline outline = outline_at(&faces, f);
        const double slant
            = plane[0] * towards[0] + plane[1] * towards[1] + plane[2] * towards[2];
        if (slant < 1e-9 && slant > -1e-9)
            continue;
        for (Py_ssize_t i = 0; i < points; i++) {
            const double *start = starts + 3 * i, level = -before(plane, start),
                         away = slant > 0 ? level : -level;
            if (!out[i] || !(away > margin && away < far * (slant > 0 ? slant : -slant)))
                continue;
            const double way = level / slant;
            out[i] = !within(&outline, start[across] + way * towards[across],
                             start[up] + way * towards[up]);
        }
    }
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(of_faces, FACES);
    close_arrays(a, COUNT);
    return done;
}
