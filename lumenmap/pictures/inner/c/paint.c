/* paint: light through two sparse matrices and the tone table, to packed colours. */

#include "lanes.h"

/* Pixels painted before they are stored: frames often lie so in memory that storing a pixel of each
in turn would always hit the same few lines of the cache. */
#define TILE 64

typedef struct {
    Matrix mix, images;
    const float *base;
    const Py_ssize_t *touched;
    Py_ssize_t count; /* of those touched */
    float scale;
    const uint8_t *table;
    uint32_t *out;
    Py_ssize_t pixels;
    int frames;
} Picture;

/* What the columns of a row of both matrices contribute. */
INSIDE void gather(float *light, const Picture *picture, Py_ssize_t row, const int eights)
{
    Eight sum[MOST] = {0};
    add_row(sum, &picture->mix, row, picture->scale, eights);
    add_row(sum, &picture->images, row, picture->scale, eights);
    store(light, sum, eights);
}

INSIDE void paint(const Picture *picture, const int eights)
{
    uint32_t tile[FRAMES][TILE];
    const uint8_t *table = picture->table;
    for (Py_ssize_t first = 0; first < picture->count; first += TILE) {
        const Py_ssize_t *at = picture->touched + first, left = picture->count - first;
        const int here = left < TILE ? (int)left : TILE;
        for (int i = 0; i < here; i++) {
            const float *base = picture->base + 3 * at[i];
            float light[MOST * LANES];
            int32_t step[MOST * LANES];
            gather(light, picture, at[i], eights);
            for (int k = 0; k < eights * LANES; k++) {
                float sum = light[k] + base[k % 3] * picture->scale;
                sum = sum > 0.0f ? sum : 0.0f; /* what isn't a number becomes black */
                step[k] = (int32_t)(sum < 65535.0f ? sum : 65535.0f);
            }
            for (int t = 0; t < picture->frames; t++)
                tile[t][i] = (uint32_t)table[step[3 * t]] | (uint32_t)table[step[3 * t + 1]] << 8
                             | (uint32_t)table[step[3 * t + 2]] << 16;
        }
        if (at[here - 1] - at[0] == here - 1) /* one run, as they are in order */
            for (int t = 0; t < picture->frames; t++)
                memcpy(picture->out + t * picture->pixels + at[0], tile[t], sizeof **tile * here);
        else
            for (int t = 0; t < picture->frames; t++)
                for (int i = 0; i < here; i++)
                    picture->out[t * picture->pixels + at[i]] = tile[t][i];
    }
}

BY_WIDTH(paint, Picture)

/* paint(mix.data, .indices, .indptr, nodes, images.data, .indices, .indptr, lamps, base, touched,
table, out, scale, width): `nodes` and `lamps` have `width` columns, 8, 24 or 48 */
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
    const Py_ssize_t frames = pixels ? a[OUT].count / pixels : 0;
    if (!known_width(width) || frames < 1 || 3 * frames > width
        || a[OUT].count != pixels * frames || a[TABLE].count != 65536
        || a[ME].count != pixels + 1 || a[IE].count != pixels + 1 || a[MD].count != a[MC].count
        || a[ID].count != a[IC].count) {
        unfit("paint");
        goto end;
    }
    const Picture picture = {
        {a[MD].view.buf, a[MC].view.buf, a[ME].view.buf, a[ML].view.buf},
        {a[ID].view.buf, a[IC].view.buf, a[IE].view.buf, a[IL].view.buf},
        a[BASE].view.buf, a[TOUCHED].view.buf, a[TOUCHED].count, scale, a[TABLE].view.buf,
        a[OUT].view.buf, pixels, (int)frames,
    };
    Py_BEGIN_ALLOW_THREADS
    paint_by_width(&picture, width);
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(a, COUNT);
    return done;
}
