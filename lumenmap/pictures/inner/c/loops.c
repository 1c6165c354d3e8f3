/* The module `_loops`: the innermost loops of pictures.

Each does what the one of its name in plain.py does. The lengths of arrays are checked here at each
call; what their items point to is checked by compiled.py, or made by these loops themselves. */

#include "loops.h"

int open_arrays(Array *arrays, PyObject *const *from, const Kind *kinds, int count)
{
    memset(arrays, 0, sizeof(Array) * count);
    for (int i = 0; i < count; i++) {
        const int flags = PyBUF_C_CONTIGUOUS | (kinds[i].writable ? PyBUF_WRITABLE : 0);
        Py_buffer *view = &arrays[i].view;
        if (PyObject_GetBuffer(from[i], view, flags) < 0) {
            view->obj = NULL;
            return 0;
        }
        if (view->itemsize != kinds[i].size) {
            PyErr_Format(PyExc_ValueError, "%s has items of %zd bytes; expected %zd",
                         kinds[i].name, view->itemsize, kinds[i].size);
            return 0;
        }
        arrays[i].count = view->len / view->itemsize;
    }
    return 1;
}

void close_arrays(Array *arrays, int count)
{
    for (int i = 0; i < count; i++)
        if (arrays[i].view.obj != NULL)
            PyBuffer_Release(&arrays[i].view);
}

PyObject *unfit(const char *what)
{
    PyErr_Format(PyExc_ValueError, "%s: arrays that don't fit each other", what);
    return NULL;
}

static PyMethodDef methods[] = {
    {"product", loops_product, METH_VARARGS, NULL},
    {"paint", loops_paint, METH_VARARGS, NULL},
    {"learn", loops_learn, METH_VARARGS, NULL},
    {"moved", loops_moved, METH_VARARGS, NULL},
    {"nearest", loops_nearest, METH_VARARGS, NULL},
    {"image", loops_image, METH_VARARGS, NULL},
    {"within", loops_within, METH_VARARGS, NULL},
    {"blocked", loops_blocked, METH_VARARGS, NULL},
    {"apart", loops_apart, METH_VARARGS, NULL},
    {"sunlit", loops_sunlit, METH_VARARGS, NULL},
    {"shine", loops_shine, METH_VARARGS, NULL},
    {NULL, NULL, 0, NULL},
};

static struct PyModuleDef definition = {
    PyModuleDef_HEAD_INIT, "_loops", NULL, 0, methods, NULL, NULL, NULL, NULL,
};

PyMODINIT_FUNC PyInit__loops(void)
{
    return PyModule_Create(&definition);
}
