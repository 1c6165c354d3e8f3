/* nearest: the nearest of a few places to each of many. */

#include "lanes.h"

WIDER static void find(const float *here, Py_ssize_t count, const float *x, int places, uint8_t *near)
{
    const float *y = x + places, *z = y + places;
    for (Py_ssize_t i = 0; i < count; i++, here += 3) {
        float away[ROOM(256)];
        for (int k = 0; k < places; k++) {
            const float dx = here[0] - x[k], dy = here[1] - y[k], dz = here[2] - z[k];
            away[k] = dx * dx + dy * dy + dz * dz;
        }
        near[i] = (uint8_t)least(away, places);
    }
}

/* nearest(here, places, near): `places` by coordinates, (3, K). */
PyObject *loops_nearest(PyObject *module, PyObject *args)
{
    enum { HERE, PLACES, NEAR, COUNT };
    static const Kind kinds[COUNT] = {{"here", 4, 0}, {"places", 4, 0}, {"near", 1, 1}};
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    (void)module;
    if (!PyArg_ParseTuple(args, "OOO", &o[0], &o[1], &o[2]))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    const int places = (int)(a[PLACES].count / 3);
    if (places < 1 || places > 256 || a[PLACES].count != 3 * places
        || a[HERE].count != 3 * a[NEAR].count) {
        unfit("nearest");
        goto end;
    }
    Py_BEGIN_ALLOW_THREADS
    find(a[HERE].view.buf, a[NEAR].count, a[PLACES].view.buf, places, a[NEAR].view.buf);
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(a, COUNT);
    return done;
}
