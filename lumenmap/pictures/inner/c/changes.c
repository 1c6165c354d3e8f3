/* between, moved, nearest: pictures to indices of a palette. */

#include "loops.h"

#include <math.h>

/* What marks a cell that is unknown, but was told: no more than zero, and not zero. */
#define TOLD -1.0f

/* between(before, now, spread, places, spots, cells, unknown) -> (count, unknown)

Cells that are unknown are marked in `places` and told once. */
PyObject *loops_between(PyObject *module, PyObject *args)
{
    enum { BEFORE, NOW, SPREAD, PLACES, SPOTS, CELLS, UNKNOWN, COUNT };
    static const Kind kinds[COUNT] = {
        {"before", 4, 0}, {"now", 4, 0},   {"spread", 4, 0},
        {"places", 4, 1}, {"spots", sizeof(Py_ssize_t), 1}, {"cells", 4, 1},
        {"unknown", sizeof(Py_ssize_t), 1},
    };
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOOO", &o[0], &o[1], &o[2], &o[3], &o[4], &o[5], &o[6]))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    const uint32_t *before = a[BEFORE].view.buf, *now = a[NOW].view.buf,
                   *spread = a[SPREAD].view.buf;
    const Py_ssize_t pixels = a[NOW].count;
    uint32_t bits = 0; /* of all cells that there can be */
    for (Py_ssize_t i = 0; i < a[SPREAD].count; i++)
        bits |= spread[i];
    if (a[BEFORE].count != pixels || a[SPOTS].count < pixels || a[CELLS].count < pixels
        || a[UNKNOWN].count < pixels || a[SPREAD].count != 3 * 256
        || (Py_ssize_t)bits >= a[PLACES].count / 4) {
        unfit("between");
        goto end;
    }
    float *places = a[PLACES].view.buf;
    Py_ssize_t *spots = a[SPOTS].view.buf, *unknown = a[UNKNOWN].view.buf, count = 0, missing = 0;
    int32_t *cells = a[CELLS].view.buf;
    Py_BEGIN_ALLOW_THREADS
    for (Py_ssize_t i = 0; i < pixels; i++) {
        const uint32_t colour = now[i];
        if (((colour ^ before[i]) & 0xFFFFFF) == 0)
            continue;
        const uint32_t cell = spread[colour & 255] | spread[256 + ((colour >> 8) & 255)]
                              | spread[512 + ((colour >> 16) & 255)];
        spots[count] = i;
        cells[count++] = (int32_t)cell;
        float *kept = places + 4 * (size_t)cell + 3;
        if (*kept == 0.0f) {
            *kept = TOLD;
            unknown[missing++] = i;
        }
    }
    Py_END_ALLOW_THREADS
    done = Py_BuildValue("nn", count, missing);
end:
    close_arrays(a, COUNT);
    return done;
}

/* moved(spots, cells, indices, near, places, alone, palette, flags) -> count

`spots` is written over with those that moved; `flags`, all zero, has two items more than `indices`,
and is all zero again. */
PyObject *loops_moved(PyObject *module, PyObject *args)
{
    enum { SPOTS, CELLS, INDICES, NEAR, PLACES, ALONE, PALETTE, FLAGS, COUNT };
    enum { STAYS, FAR, MUCH };
    static const Kind kinds[COUNT] = {
        {"spots", sizeof(Py_ssize_t), 1}, {"cells", 4, 0}, {"indices", 1, 1}, {"near", 1, 0},
        {"places", 4, 0}, {"alone", 4, 0}, {"palette", 4, 0}, {"flags", 1, 1},
    };
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOOOO", &o[0], &o[1], &o[2], &o[3], &o[4], &o[5], &o[6], &o[7]))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    if (a[CELLS].count != a[SPOTS].count || a[FLAGS].count != a[INDICES].count + 2
        || a[PLACES].count != 4 * a[NEAR].count || a[ALONE].count != a[NEAR].count
        || a[PALETTE].count != 4 * 256) {
        unfit("moved");
        goto end;
    }
    const int32_t *cells = a[CELLS].view.buf;
    const float *places = a[PLACES].view.buf, *alone = a[ALONE].view.buf,
                *palette = a[PALETTE].view.buf;
    const uint8_t *near = a[NEAR].view.buf;
    uint8_t *indices = a[INDICES].view.buf, *flags = (uint8_t *)a[FLAGS].view.buf + 1;
    Py_ssize_t *spots = a[SPOTS].view.buf, count = 0;
    Py_BEGIN_ALLOW_THREADS
    for (Py_ssize_t i = 0; i < a[SPOTS].count; i++) {
        const float *here = places + 4 * (size_t)cells[i], *old = palette + 4 * indices[spots[i]];
        const float x = here[0] - old[0], y = here[1] - old[1], z = here[2] - old[2];
        const float away = x * x + y * y + z * z;
        if (away > here[3])
            flags[spots[i]] = away > alone[cells[i]] ? MUCH : FAR;
    }
    for (Py_ssize_t i = 0; i < a[SPOTS].count; i++) {
        const Py_ssize_t spot = spots[i];
        const uint8_t *flag = flags + spot;
        if (*flag == MUCH || (*flag == FAR && (flag[-1] || flag[1]))) {
            indices[spot] = near[cells[i]];
            spots[count++] = spot; /* never beyond the one that is read */
        }
    }
    memset(a[FLAGS].view.buf, STAYS, a[FLAGS].count);
    Py_END_ALLOW_THREADS
    done = PyLong_FromSsize_t(count);
end:
    close_arrays(a, COUNT);
    return done;
}

/* nearest(here, palette, near, square): `palette` by coordinates, (3, K). */
PyObject *loops_nearest(PyObject *module, PyObject *args)
{
    enum { HERE, PALETTE, NEAR, SQUARE, COUNT };
    static const Kind kinds[COUNT] = {
        {"here", 4, 0}, {"palette", 4, 0}, {"near", 1, 1}, {"square", 4, 1},
    };
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOO", &o[0], &o[1], &o[2], &o[3]))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    const int colours = (int)(a[PALETTE].count / 3);
    const Py_ssize_t count = a[NEAR].count;
    if (colours < 1 || colours > 256 || a[PALETTE].count != 3 * colours
        || a[HERE].count != 3 * count || a[SQUARE].count != count) {
        unfit("nearest");
        goto end;
    }
    const float *here = a[HERE].view.buf, *x = a[PALETTE].view.buf, *y = x + colours,
                *z = y + colours;
    uint8_t *near = a[NEAR].view.buf;
    float *square = a[SQUARE].view.buf;
    Py_BEGIN_ALLOW_THREADS
    for (Py_ssize_t i = 0; i < count; i++, here += 3) {
        float away[256], best = INFINITY;
        int found = 0;
        for (int k = 0; k < colours; k++) {
            const float dx = here[0] - x[k], dy = here[1] - y[k], dz = here[2] - z[k];
            away[k] = dx * dx + dy * dy + dz * dz;
        }
        for (int k = 0; k < colours; k++)
            if (away[k] < best) {
                best = away[k];
                found = k;
            }
        near[i] = (uint8_t)found;
        square[i] = best;
    }
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(a, COUNT);
    return done;
}
