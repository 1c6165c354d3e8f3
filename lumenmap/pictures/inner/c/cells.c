/* learn, mix: what is known of cells of similar colours. */

#include "cells.h"
#include "lanes.h"

#include <math.h>

/* The second nearest colour of a cell for which it hasn't been worked out: no palette has so many. */
#define UNKNOWN 255

static const Kind table_kinds[TABLE] = {
    {"spread", 4, 0}, {"middle", 8, 0},  {"to_lms", 8, 0}, {"to_lab", 8, 0},
    {"colours", 4, 0}, {"palette", 4, 0}, {"slack", 4, 0},  {"slack_alone", 4, 0},
    {"places", 4, 1}, {"alone", 4, 1},   {"near", 1, 1},   {"second", 1, 1},
    {"share", 1, 1},
};

int open_table(Table *table, Array *a, PyObject *from)
{
    PyObject *o[TABLE];
    memset(a, 0, sizeof(Array) * TABLE);
    if (!PyArg_ParseTuple(from, "OOOOOOOOOOOOO", &o[0], &o[1], &o[2], &o[3], &o[4], &o[5], &o[6],
                          &o[7], &o[8], &o[9], &o[10], &o[11], &o[12])
        || !open_arrays(a, o, table_kinds, TABLE))
        return 0;
    const Py_ssize_t cells = a[NEAR].count, count = a[SLACK].count;
    uint32_t bits = 0; /* of all cells that the codes can give */
    for (Py_ssize_t i = 0; i < a[SPREAD].count; i++)
        bits |= ((const uint32_t *)a[SPREAD].view.buf)[i];
    if (a[SPREAD].count != 3 * 256 || a[MIDDLE].count != 256 || a[TO_LMS].count != 9
        || a[TO_LAB].count != 9 || count < 1 || count > 256 || a[COLOURS].count != 3 * count
        || a[SLACK_ALONE].count != count || a[PALETTE].count != 4 * 256
        || a[PLACES].count != 4 * cells || a[ALONE].count != cells
        || a[SECOND].count != cells || a[SHARE].count != cells || (Py_ssize_t)bits >= cells) {
        unfit("a table of cells");
        return 0;
    }
    *table = (Table){
        a[SPREAD].view.buf, a[MIDDLE].view.buf,  a[TO_LMS].view.buf, a[TO_LAB].view.buf,
        a[COLOURS].view.buf, a[PALETTE].view.buf, a[SLACK].view.buf,  a[SLACK_ALONE].view.buf,
        a[PLACES].view.buf, a[ALONE].view.buf,   a[NEAR].view.buf,
        a[SECOND].view.buf, a[SHARE].view.buf,   (int)count,
    };
    return 1;
}

/* Squared distances of a place to all colours. */
INSIDE void measure(const Table *table, const float *here, float *away)
{
    const float *colours = table->colours, *more = colours + table->count,
                *most = more + table->count;
    for (int k = 0; k < table->count; k++) {
        const float x = here[0] - colours[k], y = here[1] - more[k], z = here[2] - most[k];
        away[k] = x * x + y * y + z * z;
    }
}

COLD WIDER void learn(const Table *table, size_t cell, uint32_t colour)
{
    const double rgb[3] = {table->middle[colour & 255], table->middle[colour >> 8 & 255],
                           table->middle[colour >> 16 & 255]};
    double lms[3];
    float here[3], away[ROOM(256)];
    for (int k = 0; k < 3; k++) {
        const double *row = table->to_lms + 3 * k;
        lms[k] = cbrt(row[0] * rgb[0] + row[1] * rgb[1] + row[2] * rgb[2]);
    }
    for (int k = 0; k < 3; k++) {
        const double *row = table->to_lab + 3 * k;
        here[k] = (float)(row[0] * lms[0] + row[1] * lms[1] + row[2] * lms[2]);
    }
    measure(table, here, away);
    const int near = least(away, table->count);
    const float distance = sqrtf(away[near]), kept = distance + table->slack[near],
                alone = distance + table->slack_alone[near];
    float *place = table->places + 4 * cell;
    memcpy(place, here, sizeof here);
    /* Above zero even for a palette of one colour, which has no slack: zero is unknown. */
    place[3] = kept * kept > 1e-12f ? kept * kept : 1e-12f;
    table->alone[cell] = alone * alone;
    table->near[cell] = (uint8_t)near;
}

/* Work out how a cell is mixed of its two nearest colours; the second is the nearest if it's not. */
COLD WIDER static void mix(const Table *table, size_t cell, float shows, float solid)
{
    const float *here = table->places + 4 * cell, *near = table->palette + 4 * table->near[cell];
    float away[ROOM(256)], square = 0, along = 0;
    measure(table, here, away);
    away[table->near[cell]] = INFINITY;
    const int second = least(away, table->count);
    const float *next = table->palette + 4 * second;
    for (int k = 0; k < 3; k++) {
        square += (next[k] - near[k]) * (next[k] - near[k]);
        along += (here[k] - near[k]) * (next[k] - near[k]);
    }
    float share = along / (square > 1e-12f ? square : 1e-12f);
    share = (share - solid) / (1 - 2 * solid);
    share = share < 0 ? 0 : share > 0.5f ? 0.5f : share;
    table->second[cell] = (uint8_t)second;
    table->share[cell] = square > shows * shows ? (uint8_t)(share * 255) : 0;
}

/* Work out the cells of colours that aren't known, and how those that have no second colour are mixed
if `mixed`. */
static void learn_all(const Table *table, const uint32_t *colours, Py_ssize_t count, int mixed,
                      float shows, float solid)
{
    for (Py_ssize_t i = 0; i < count; i++) {
        const size_t cell = cell_of(table, colours[i]);
        if (table->places[4 * cell + 3] == 0.0f)
            learn(table, cell, colours[i]);
        if (mixed && table->second[cell] == UNKNOWN)
            mix(table, cell, shows, solid);
    }
}

/* learn(table, colours, mixed, shows, solid) */
PyObject *loops_learn(PyObject *module, PyObject *args)
{
    static const Kind kinds[1] = {{"colours", 4, 0}};
    PyObject *from, *o[1], *done = NULL;
    Array cells[TABLE], a[1];
    Table table;
    int mixed;
    float shows, solid;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOpff", &from, &o[0], &mixed, &shows, &solid))
        return NULL;
    memset(a, 0, sizeof a);
    if (!open_table(&table, cells, from) || !open_arrays(a, o, kinds, 1))
        goto end;
    Py_BEGIN_ALLOW_THREADS
    learn_all(&table, a[0].view.buf, a[0].count, mixed, shows, solid);
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    close_arrays(cells, TABLE);
    close_arrays(a, 1);
    return done;
}
