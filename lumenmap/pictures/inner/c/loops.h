/* What the loops share: arrays of Python's, opened and checked. */

#ifndef LUMENMAP_LOOPS_H
#define LUMENMAP_LOOPS_H

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030b0000 /* one module for Python 3.11 and later */
#include <Python.h>
#include <stdint.h>
#include <string.h>

/* What an array must be: the bytes of an item, and whether it is written to. */
typedef struct {
    const char *name;
    Py_ssize_t size;
    int writable;
} Kind;

typedef struct {
    Py_buffer view;
    Py_ssize_t count; /* items */
} Array;

/* Open all of `count` C-contiguous arrays; 0 with an error set if one isn't as it must be. */
int open_arrays(Array *arrays, PyObject *const *from, const Kind *kinds, int count);

/* Close those that were opened. */
void close_arrays(Array *arrays, int count);

/* Say that arrays don't fit each other; NULL. */
PyObject *unfit(const char *what);

PyObject *loops_paint(PyObject *module, PyObject *args);
PyObject *loops_between(PyObject *module, PyObject *args);
PyObject *loops_moved(PyObject *module, PyObject *args);
PyObject *loops_nearest(PyObject *module, PyObject *args);
PyObject *loops_lzw(PyObject *module, PyObject *args);

#endif
