/* Cells of similar colours: Python's CellTable. */

#ifndef LUMENMAP_CELLS_H
#define LUMENMAP_CELLS_H

#include "loops.h"

/* The arrays of a CellTable, in its order. */
enum { SPREAD, MIDDLE, TO_LMS, TO_LAB, COLOURS, PALETTE, SLACK, SLACK_ALONE, PLACES, ALONE, NEAR,
       SECOND, SHARE, TABLE };

typedef struct {
    const uint32_t *spread;
    const double *middle, *to_lms, *to_lab;
    const float *colours, *palette, *slack, *slack_alone;
    float *places, *alone;
    uint8_t *near, *second, *share;
    int count; /* of colours */
} Table;

/* Open a CellTable; 0 with an error set if it isn't one. */
int open_table(Table *table, Array *arrays, PyObject *from);

/* Work out a cell: its place, the nearest colour, and how far away another may be to be kept. */
void learn(const Table *table, size_t cell, uint32_t colour);

INSIDE size_t cell_of(const Table *table, uint32_t colour)
{
    return table->spread[colour & 255] | table->spread[256 + (colour >> 8 & 255)]
           | table->spread[512 + (colour >> 16 & 255)];
}

#endif
