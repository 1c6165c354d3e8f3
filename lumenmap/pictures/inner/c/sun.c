/* sunlit: where light from far away gets to. */

#include "outlines.h"

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
