/* What the loops share: arrays of Python's, opened and checked. */

#ifndef LUMENMAP_LOOPS_H
#define LUMENMAP_LOOPS_H

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030b0000 /* one module for Python 3.11 and later */
#include <Python.h>
#include <stdint.h>
#include <string.h>

/* A function that is compiled twice, and takes eight numbers at once where the processor can. */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && defined(__gnu_linux__)
#define WIDER __attribute__((target_clones("avx2", "default")))
#else
#define WIDER
#endif

/* A function that is seldom called. */
#if defined(__GNUC__)
#define COLD __attribute__((noinline, cold))
#else
#define COLD
#endif

/* Ask for memory that will soon be read. */
#if defined(__GNUC__)
#define FETCH(place) __builtin_prefetch(place)
#else
#define FETCH(place) ((void)(place))
#endif

/* A function that is always made part of its callers. */
#if defined(__GNUC__)
#define INSIDE static inline __attribute__((always_inline))
#else
#define INSIDE static inline
#endif

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

PyObject *loops_product(PyObject *module, PyObject *args);
PyObject *loops_paint(PyObject *module, PyObject *args);
PyObject *loops_learn(PyObject *module, PyObject *args);
PyObject *loops_moved(PyObject *module, PyObject *args);
PyObject *loops_nearest(PyObject *module, PyObject *args);
PyObject *loops_image(PyObject *module, PyObject *args);
PyObject *loops_within(PyObject *module, PyObject *args);
PyObject *loops_blocked(PyObject *module, PyObject *args);
PyObject *loops_apart(PyObject *module, PyObject *args);
PyObject *loops_sunlit(PyObject *module, PyObject *args);
PyObject *loops_shine(PyObject *module, PyObject *args);

#endif
