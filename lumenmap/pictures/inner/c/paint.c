/* paint: light through two sparse matrices and the tone table, to packed colours. */

#include "loops.h"

/* Columns of a block: 16 frames of 3 channels. */
#define MOST 48
/* Pixels painted before they are stored: frames often lie so in memory that storing a pixel of each
in turn would always hit the same few lines of the cache. */
#define TILE 64

typedef struct {
    const float *data;
    const int32_t *column;
    const int64_t *ends;
    const float *light; /* of each column, `width` values */
} Matrix;

typedef struct {
    Matrix mix, images;
    const float *base;
    const Py_ssize_t *touched;
    Py_ssize_t count; /* of those touched */
    float scale;
    const uint8_t *table;
    uint32_t *out;
    Py_ssize_t pixels;
} Picture;

INSIDE void add_row(float *sum, const Matrix *matrix, Py_ssize_t row, float scale,
                           const int width)
{
    for (int64_t e = matrix->ends[row]; e < matrix->ends[row + 1]; e++) {
        const float weight = matrix->data[e] * scale;
        const float *light = matrix->light + (Py_ssize_t)matrix->column[e] * width;
        for (int k = 0; k < width; k++)
            sum[k] += weight * light[k];
    }
}

/* `width` as an argument of inlined functions: where it is a constant, the compiler uses that. */
INSIDE void paint(const Picture *picture, const int width)
{
    uint32_t tile[MOST / 3][TILE];
    const uint8_t *table = picture->table;
    for (Py_ssize_t first = 0; first < picture->count; first += TILE) {
        const Py_ssize_t *at = picture->touched + first, left = picture->count - first;
        const int here = left < TILE ? (int)left : TILE;
        for (int i = 0; i < here; i++) {
            const float *base = picture->base + 3 * at[i];
            float sum[MOST] = {0};
            int32_t step[MOST];
            add_row(sum, &picture->mix, at[i], picture->scale, width);
            add_row(sum, &picture->images, at[i], picture->scale, width);
            for (int k = 0; k < width; k++) {
                float light = sum[k] + base[k % 3] * picture->scale;
                light = light > 0.0f ? light : 0.0f; /* what isn't a number becomes black */
                step[k] = (int32_t)(light < 65535.0f ? light : 65535.0f);
            }
            for (int t = 0; 3 * t < width; t++)
                tile[t][i] = (uint32_t)table[step[3 * t]] | (uint32_t)table[step[3 * t + 1]] << 8
                             | (uint32_t)table[step[3 * t + 2]] << 16;
        }
        for (int t = 0; 3 * t < width; t++)
            for (int i = 0; i < here; i++)
                picture->out[t * picture->pixels + at[i]] = tile[t][i];
    }
}

WIDER static void paint_block(const Picture *picture)
{
    paint(picture, MOST);
}

WIDER static void paint_rest(const Picture *picture, const int width)
{
    paint(picture, width);
}

/* paint(mix.data, .indices, .indptr, nodes, images.data, .indices, .indptr, lamps, base, touched,
table, out, scale, width) */
PyObject *loops_paint(PyObject *module, PyObject *args)
{
    enum { MD, MC, ME, ML, ID, IC, IE, IL, BASE, TOUCHED, TABLE, OUT, COUNT };
    static const Kind kinds[COUNT] = {
        {"mix.data", 4, 0},    {"mix.indices", 4, 0},    {"mix.indptr", 8, 0},
        {"nodes", 4, 0},       {"images.data", 4, 0},    {"images.indices", 4, 0},
        {"images.indptr", 8, 0}, {"lamps", 4, 0},        {"base", 4, 0},
        {"touched", sizeof(Py_ssize_t), 0}, {"table", 1, 0}, {"out", 4, 1},
    };
    PyObject *o[COUNT], *done = NULL;
    Array a[COUNT];
    float scale;
    int width;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOOOOOOOOfi", &o[0], &o[1], &o[2], &o[3], &o[4], &o[5], &o[6],
                          &o[7], &o[8], &o[9], &o[10], &o[11], &scale, &width))
        return NULL;
    if (!open_arrays(a, o, kinds, COUNT))
        goto end;
    const Py_ssize_t pixels = a[BASE].count / 3;
    if (width < 3 || width > MOST || width % 3 || a[TABLE].count != 65536
        || a[ME].count != pixels + 1 || a[IE].count != pixels + 1 || a[MD].count != a[MC].count
        || a[ID].count != a[IC].count || a[OUT].count != pixels * (width / 3)) {
        unfit("paint");
        goto end;
    }
    const Picture picture = {
        {a[MD].view.buf, a[MC].view.buf, a[ME].view.buf, a[ML].view.buf},
        {a[ID].view.buf, a[IC].view.buf, a[IE].view.buf, a[IL].view.buf},
        a[BASE].view.buf, a[TOUCHED].view.buf, a[TOUCHED].count, scale, a[TABLE].view.buf,
        a[OUT].view.buf, pixels,
    };
    Py_BEGIN_ALLOW_THREADS
    if (width == MOST)
        paint_block(&picture);
    else
        paint_rest(&picture, width);
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(a, COUNT);
    return done;
}
