/* product: a sparse matrix times the light of some frames, and times the colour of each row, if it
has one. */

#include "lanes.h"

typedef struct {
    Matrix matrix;
    const float *colours; /* of each row, three; or none */
    float *out;
    Py_ssize_t rows;
} Product;

INSIDE void multiply(const Product *product, const int eights)
{
    for (Py_ssize_t row = 0; row < product->rows; row++) {
        float *out = product->out + row * eights * LANES;
        Eight sum[MOST] = {0};
        add_row(sum, &product->matrix, row, 1.0f, eights);
        store(out, sum, eights);
        if (product->colours)
            for (int k = 0; k < eights * LANES; k++)
                out[k] *= product->colours[3 * row + k % 3];
    }
}

BY_WIDTH(multiply, Product)

/* product(data, indices, indptr, light, colours, out, width): `light` and `out` have `width`
columns, 8, 24 or 48; without `colours` nothing is multiplied */
PyObject *loops_product(PyObject *module, PyObject *args)
{
    enum { DATA, COLUMNS, ENDS, LIGHT, COLOURS, OUT, COUNT };
    static const Kind kinds[COUNT] = {
        {"data", 4, 0},  {"indices", 4, 0}, {"indptr", 8, 0},
        {"light", 4, 0}, {"colours", 4, 0}, {"out", 4, 1},
    };
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    int width;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOOi", &o[0], &o[1], &o[2], &o[3], &o[4], &o[5], &width))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    const Py_ssize_t rows = a[ENDS].count - 1, coloured = a[COLOURS].count;
    if (!known_width(width) || rows < 0 || (coloured && coloured != 3 * rows)
        || a[OUT].count != rows * width || a[DATA].count != a[COLUMNS].count
        || a[LIGHT].count % width) {
        unfit("product");
        goto end;
    }
    const Product product = {
        {a[DATA].view.buf, a[COLUMNS].view.buf, a[ENDS].view.buf, a[LIGHT].view.buf},
        coloured ? a[COLOURS].view.buf : NULL, a[OUT].view.buf, rows,
    };
    Py_BEGIN_ALLOW_THREADS
    multiply_by_width(&product, width);
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(a, COUNT);
    return done;
}
