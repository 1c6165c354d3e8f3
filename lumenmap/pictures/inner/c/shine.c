/* shine: the light of lamps on points of faces, by groups of lamps. */

#include "loops.h"

#include <math.h>

typedef struct {
    const float *x, *y, *z, *ahead_x, *ahead_y, *ahead_z, *lit;
    Py_ssize_t count;
    float sideways, behind;
} Lamps;

/* What falls on one point, per lamp: I(theta) cos phi / d^2. */
WIDER static void fall(const Lamps *lamps, const float *at, const float *normal, float *out)
{
    for (Py_ssize_t j = 0; j < lamps->count; j++) {
        const float x = lamps->x[j] - at[0], y = lamps->y[j] - at[1], z = lamps->z[j] - at[2];
        float square = x * x + y * y + z * z;
        square = square > 4e-4f ? square : 4e-4f; /* closer than 2 cm a lamp isn't a point */
        const float distance = sqrtf(square), onto = x * normal[0] + y * normal[1] + z * normal[2];
        const float cosine = -(x * lamps->ahead_x[j] + y * lamps->ahead_y[j]
                               + z * lamps->ahead_z[j]) / distance;
        const float ahead = lamps->sideways + (1 - lamps->sideways) * cosine,
                    back = lamps->sideways * (1 - cosine / lamps->behind);
        const float beam = cosine >= 0 ? ahead : back;
        out[j] = (onto > 0 ? onto : 0) * (beam > 0 ? beam : 0) / (distance * square)
                 * lamps->lit[j];
    }
}

/* shine(points, normals, lamps, starts, dark, out, sideways, behind): `lamps` by coordinates (7, L):
place, direction, and whether each shines; `dark` (P, L) or empty: what is hidden. */
PyObject *loops_shine(PyObject *module, PyObject *args)
{
    enum { POINTS, NORMALS, LAMPS, STARTS, DARK, OUT, COUNT };
    static const Kind kinds[COUNT] = {
        {"points", 4, 0}, {"normals", 4, 0}, {"lamps", 4, 0},
        {"starts", 8, 0}, {"dark", 1, 0},    {"out", 4, 1},
    };
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    float *each = NULL, sideways, behind;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOOff", &o[0], &o[1], &o[2], &o[3], &o[4], &o[5], &sideways,
                          &behind))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    const Py_ssize_t points = a[POINTS].count / 3, count = a[LAMPS].count / 7,
                     groups = a[STARTS].count;
    const int64_t *starts = a[STARTS].view.buf;
    int fits = a[LAMPS].count == 7 * count && a[NORMALS].count == 3 * points
               && a[OUT].count == points * groups
               && (a[DARK].count == 0 || a[DARK].count == points * count) && groups > 0
               && starts[0] == 0 && starts[groups - 1] < count;
    for (Py_ssize_t g = 1; fits && g < groups; g++)
        fits = starts[g] > starts[g - 1];
    if (!fits) {
        unfit("shine");
        goto end;
    }
    each = PyMem_Malloc(sizeof(float) * (size_t)count);
    if (each == NULL) {
        PyErr_NoMemory();
        goto end;
    }
    Py_BEGIN_ALLOW_THREADS
    const float *at = a[POINTS].view.buf, *normal = a[NORMALS].view.buf, *from = a[LAMPS].view.buf;
    const Lamps lamps = {from, from + count, from + 2 * count, from + 3 * count, from + 4 * count,
                         from + 5 * count, from + 6 * count, count, sideways, behind};
    const uint8_t *dark = a[DARK].count ? a[DARK].view.buf : NULL;
    float *out = a[OUT].view.buf;
    for (Py_ssize_t i = 0; i < points; i++, at += 3, normal += 3, out += groups) {
        fall(&lamps, at, normal, each);
        for (Py_ssize_t g = 0; g < groups; g++) {
            const Py_ssize_t stop = g + 1 < groups ? starts[g + 1] : count;
            float sum = 0;
            for (Py_ssize_t j = starts[g]; j < stop; j++)
                sum += dark != NULL && dark[i * count + j] ? 0 : each[j];
            out[g] = sum;
        }
    }
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    PyMem_Free(each);
    close_arrays(a, COUNT);
    return done;
}
