/* learn, moved: colours to indices of a palette. */

#include "loops.h"

#include <math.h>

/* The arrays of a CellTable, in its order. */
enum { SPREAD, MIDDLE, TO_LMS, TO_LAB, COLOURS, PALETTE, SLACK, SLACK_ALONE, PLACES, ALONE, NEAR,
       TABLE };
static const Kind table_kinds[TABLE] = {
    {"spread", 4, 0}, {"middle", 8, 0},  {"to_lms", 8, 0}, {"to_lab", 8, 0},
    {"colours", 4, 0}, {"palette", 4, 0}, {"slack", 4, 0},  {"slack_alone", 4, 0},
    {"places", 4, 1}, {"alone", 4, 1},   {"near", 1, 1},
};

typedef struct {
    const uint32_t *spread;
    const double *middle, *to_lms, *to_lab;
    const float *colours, *palette, *slack, *slack_alone;
    float *places, *alone;
    uint8_t *near;
    int count; /* of colours */
} Table;

/* Open a CellTable; 0 with an error set if it isn't one. */
static int open_table(Table *table, Array *a, PyObject *from)
{
    PyObject *o[TABLE];
    memset(a, 0, sizeof(Array) * TABLE);
    if (!PyArg_ParseTuple(from, "OOOOOOOOOOO", &o[0], &o[1], &o[2], &o[3], &o[4], &o[5], &o[6],
                          &o[7], &o[8], &o[9], &o[10])
        || !open_arrays(a, o, table_kinds, TABLE))
        return 0;
    const Py_ssize_t cells = a[NEAR].count, count = a[SLACK].count;
    uint32_t bits = 0; /* of all cells that the codes can give */
    for (Py_ssize_t i = 0; i < a[SPREAD].count; i++)
        bits |= ((const uint32_t *)a[SPREAD].view.buf)[i];
    if (a[SPREAD].count != 3 * 256 || a[MIDDLE].count != 256 || a[TO_LMS].count != 9
        || a[TO_LAB].count != 9 || count < 1 || count > 256 || a[COLOURS].count != 3 * count
        || a[SLACK_ALONE].count != count || a[PALETTE].count != 4 * 256
        || a[PLACES].count != 4 * cells || a[ALONE].count != cells || (Py_ssize_t)bits >= cells) {
        unfit("a table of cells");
        return 0;
    }
    *table = (Table){
        a[SPREAD].view.buf, a[MIDDLE].view.buf,  a[TO_LMS].view.buf, a[TO_LAB].view.buf,
        a[COLOURS].view.buf, a[PALETTE].view.buf, a[SLACK].view.buf,  a[SLACK_ALONE].view.buf,
        a[PLACES].view.buf, a[ALONE].view.buf,   a[NEAR].view.buf,   (int)count,
    };
    return 1;
}

INSIDE size_t cell_of(const Table *table, uint32_t colour)
{
    return table->spread[colour & 255] | table->spread[256 + (colour >> 8 & 255)]
           | table->spread[512 + (colour >> 16 & 255)];
}

/* Work out a cell: its place, the nearest colour, and how far away another may be to be kept. */
COLD WIDER static void learn(const Table *table, size_t cell, uint32_t colour)
{
    const double rgb[3] = {table->middle[colour & 255], table->middle[colour >> 8 & 255],
                           table->middle[colour >> 16 & 255]};
    const float *colours = table->colours, *more = colours + table->count,
                *most = more + table->count;
    double lms[3];
    float here[3], away[256], best = INFINITY;
    int near = 0;
    for (int k = 0; k < 3; k++) {
        const double *row = table->to_lms + 3 * k;
        lms[k] = cbrt(row[0] * rgb[0] + row[1] * rgb[1] + row[2] * rgb[2]);
    }
    for (int k = 0; k < 3; k++) {
        const double *row = table->to_lab + 3 * k;
        here[k] = (float)(row[0] * lms[0] + row[1] * lms[1] + row[2] * lms[2]);
    }
    for (int k = 0; k < table->count; k++) {
        const float x = here[0] - colours[k], y = here[1] - more[k], z = here[2] - most[k];
        away[k] = x * x + y * y + z * z;
    }
    for (int k = 0; k < table->count; k++)
        if (away[k] < best) {
            best = away[k];
            near = k;
        }
    const float distance = sqrtf(best), kept = distance + table->slack[near],
                alone = distance + table->slack_alone[near];
    float *place = table->places + 4 * cell;
    memcpy(place, here, sizeof here);
    /* Above zero even for a palette of one colour, which has no slack: zero is unknown. */
    place[3] = kept * kept > 1e-12f ? kept * kept : 1e-12f;
    table->alone[cell] = alone * alone;
    table->near[cell] = (uint8_t)near;
}

INSIDE const float *known(const Table *table, size_t cell, uint32_t colour)
{
    const float *place = table->places + 4 * cell;
    if (place[3] == 0.0f)
        learn(table, cell, colour);
    return place;
}

/* learn(table, colours) */
PyObject *loops_learn(PyObject *module, PyObject *args)
{
    static const Kind kinds[1] = {{"colours", 4, 0}};
    PyObject *from, *o[1], *done = NULL;
    Array cells[TABLE], a[1];
    Table table;
    (void)module;
    if (!PyArg_ParseTuple(args, "OO", &from, &o[0]))
        return NULL;
    memset(a, 0, sizeof a);
    if (!open_table(&table, cells, from) || !open_arrays(a, o, kinds, 1))
        goto end;
    const uint32_t *colours = a[0].view.buf;
    Py_BEGIN_ALLOW_THREADS
    for (Py_ssize_t i = 0; i < a[0].count; i++)
        known(&table, cell_of(&table, colours[i]), colours[i]);
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(cells, TABLE);
    close_arrays(a, 1);
    return done;
}

enum { STAYS, FAR, MUCH };
/* Pixels whose cells are fetched ahead of use. */
#define AHEAD 256

/* Flag the pixels that differ and are too far from their old colours. */
static void flag(const Table *table, const uint32_t *before, const uint32_t *now,
                 const uint8_t *indices, uint8_t *flags, Py_ssize_t pixels)
{
    /* Copies, which the compiler knows that storing a flag doesn't change. */
    const Table here = *table;
    uint32_t cells[AHEAD], spots[AHEAD];
    for (Py_ssize_t first = 0; first < pixels; first += AHEAD) {
        const int width = pixels - first < AHEAD ? (int)(pixels - first) : AHEAD;
        int count = 0;
        if (memcmp(now + first, before + first, sizeof *now * width) == 0)
            continue; /* the sky, most of the time */
        for (int i = 0; i < width; i++) {
            spots[count] = i;
            count += ((now[first + i] ^ before[first + i]) & 0xFFFFFF) != 0;
        }
        for (int k = 0; k < count; k++) {
            cells[k] = (uint32_t)cell_of(&here, now[first + spots[k]]);
            FETCH(here.places + 4 * (size_t)cells[k]);
        }
        for (int k = 0; k < count; k++) {
            const Py_ssize_t i = first + spots[k];
            const float *place = here.places + 4 * (size_t)cells[k];
            const float *old = here.palette + 4 * indices[i];
            if (place[3] == 0.0f)
                learn(table, cells[k], now[i]);
            const float x = place[0] - old[0], y = place[1] - old[1], z = place[2] - old[2];
            const float away = x * x + y * y + z * z;
            flags[i] = away > place[3] ? away > here.alone[cells[k]] ? MUCH : FAR : STAYS;
        }
    }
}

/* moved(table, before, now, indices, flags, spots) -> count

`flags` has two items more than `indices`, and is written over. */
PyObject *loops_moved(PyObject *module, PyObject *args)
{
    enum { BEFORE, NOW, INDICES, FLAGS, SPOTS, COUNT };
    static const Kind kinds[COUNT] = {
        {"before", 4, 0}, {"now", 4, 0}, {"indices", 1, 1}, {"flags", 1, 1},
        {"spots", sizeof(Py_ssize_t), 1},
    };
    PyObject *from, *o[COUNT], *done = NULL;
    Array cells[TABLE], a[COUNT];
    Table table;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOO", &from, &o[0], &o[1], &o[2], &o[3], &o[4]))
        return NULL;
    memset(a, 0, sizeof a);
    if (!open_table(&table, cells, from) || !open_arrays(a, o, kinds, COUNT))
        goto end;
    const Py_ssize_t pixels = a[NOW].count;
    if (a[BEFORE].count != pixels || a[INDICES].count != pixels || a[FLAGS].count != pixels + 2
        || a[SPOTS].count < pixels) {
        unfit("moved");
        goto end;
    }
    const uint32_t *now = a[NOW].view.buf;
    uint8_t *indices = a[INDICES].view.buf, *flags = (uint8_t *)a[FLAGS].view.buf + 1;
    Py_ssize_t *spots = a[SPOTS].view.buf, count = 0;
    Py_BEGIN_ALLOW_THREADS
    memset(flags - 1, STAYS, pixels + 2);
    flag(&table, a[BEFORE].view.buf, now, indices, flags, pixels);
    for (Py_ssize_t i = 0; i < pixels; i++) {
        uint64_t eight;
        while (pixels - i >= 8 && (memcpy(&eight, flags + i, 8), eight == 0))
            i += 8; /* most stay */
        if (i == pixels)
            break;
        if (flags[i] == STAYS || (flags[i] == FAR && !flags[i - 1] && !flags[i + 1]))
            continue;
        indices[i] = table.near[cell_of(&table, now[i])];
        spots[count++] = i;
    }
    Py_END_ALLOW_THREADS
    done = PyLong_FromSsize_t(count);
end:
    close_arrays(cells, TABLE);
    close_arrays(a, COUNT);
    return done;
}
