/* moved: frames to indices of a palette. */

#include "cells.h"

enum { STAYS, FAR, MUCH };
/* Pixels that are looked at together: their cells are fetched ahead of use. */
#define AHEAD 64

/* Room for a row: `flags` of its pixels, between two that stay, and those that are too far off. */
typedef struct {
    uint8_t *flags;
    int32_t *far;
    uint32_t *cells;
} Row;

/* Flag the pixels of a row that differ and are too far from their old colours; return how many. */
static int flag(const Table *table, const uint32_t *before, const uint32_t *now,
                const uint8_t *indices, int width, const Row *row)
{
    /* Copies, which the compiler knows that storing a flag doesn't change. */
    const Table here = *table;
    uint32_t cells[AHEAD];
    int32_t spots[AHEAD];
    int found = 0;
    for (int first = 0; first < width; first += AHEAD) {
        const int ahead = width - first < AHEAD ? width - first : AHEAD;
        int count = 0;
        for (int k = 0; k < AHEAD; k += 16)
            FETCH(now + width + first + k);
        if (memcmp(now + first, before + first, sizeof *now * ahead) == 0)
            continue; /* the sky, most of the time */
        for (int i = first; i < first + ahead; i++) {
            spots[count] = i;
            count += ((now[i] ^ before[i]) & 0xFFFFFF) != 0;
        }
        for (int k = 0; k < count; k++) {
            cells[k] = (uint32_t)cell_of(&here, now[spots[k]]);
            FETCH(here.places + 4 * (size_t)cells[k]);
        }
        for (int k = 0; k < count; k++) {
            const int32_t i = spots[k];
            const float *place = here.places + 4 * (size_t)cells[k];
            const float *old = here.palette + 4 * indices[i];
            if (place[3] == 0.0f)
                learn(table, cells[k], now[i]);
            const float x = place[0] - old[0], y = place[1] - old[1], z = place[2] - old[2];
            const float away = x * x + y * y + z * z;
            if (away > place[3]) {
                row->flags[i] = away > here.alone[cells[k]] ? MUCH : FAR;
                row->far[found] = i;
                row->cells[found++] = cells[k];
            }
        }
    }
    return found;
}

/* left, top, width and height of what changed, as in the image of a GIF */
typedef struct {
    int32_t left, top, width, height;
} Box;

/* Take in that a row changed from `left` to `right`; rows come in order. */
static void widen(Box *box, int y, int left, int right)
{
    if (box->width == 0)
        *box = (Box){left, y, right + 1 - left, 1};
    const int32_t end = box->left + box->width > right + 1 ? box->left + box->width : right + 1;
    box->left = left < box->left ? left : box->left;
    box->width = end - box->left;
    box->height = y + 1 - box->top;
}

/* Move the pixels of a row that were flagged, but for single ones that aren't much too far off. */
static void move(const Table *table, int found, const Row *row, uint8_t *indices,
                 uint8_t *changes, int y, Box *box)
{
    int left = -1, right = 0;
    for (int k = 0; k < found; k++) {
        const int32_t i = row->far[k];
        if (row->flags[i] == FAR && !row->flags[i - 1] && !row->flags[i + 1])
            continue;
        changes[i] = indices[i] = table->near[row->cells[k]];
        left = left < 0 ? i : left;
        right = i;
    }
    for (int k = 0; k < found; k++)
        row->flags[row->far[k]] = STAYS;
    if (left >= 0)
        widen(box, y, left, right);
}

/* moved(table, before, frames, indices, changes, boxes, width, same) */
PyObject *loops_moved(PyObject *module, PyObject *args)
{
    enum { BEFORE, FRAMES, INDICES, CHANGES, BOXES, COUNT };
    static const Kind kinds[COUNT] = {
        {"before", 4, 0}, {"frames", 4, 0}, {"indices", 1, 1}, {"changes", 1, 1}, {"boxes", 4, 1},
    };
    PyObject *from, *o[COUNT], *done = NULL;
    Array cells[TABLE], a[COUNT];
    Table table;
    int width, same;
    uint8_t *room = NULL;
    (void)module;
    if (!PyArg_ParseTuple(args, "OOOOOOii", &from, &o[0], &o[1], &o[2], &o[3], &o[4], &width,
                          &same))
        return NULL;
    memset(a, 0, sizeof a);
    if (!open_table(&table, cells, from) || !open_arrays(a, o, kinds, COUNT))
        goto end;
    const Py_ssize_t pixels = a[INDICES].count, frames = a[BOXES].count / 4;
    if (width < 1 || width > 65535 || pixels % width || pixels / width > 65535
        || a[BEFORE].count != pixels || a[FRAMES].count != frames * pixels
        || a[CHANGES].count != frames * pixels || a[BOXES].count != frames * 4) {
        unfit("moved");
        goto end;
    }
    room = PyMem_Calloc((size_t)width + 2, 1 + 2 * sizeof(uint32_t));
    if (room == NULL) {
        PyErr_NoMemory();
        goto end;
    }
    int32_t *far = (int32_t *)room;
    uint32_t *of = (uint32_t *)room + width + 2;
    const Row row = {(uint8_t *)(of + width + 2) + 1, far, of};
    Box *boxes = a[BOXES].view.buf;
    Py_BEGIN_ALLOW_THREADS
    memset(boxes, 0, sizeof(Box) * frames);
    memset(a[CHANGES].view.buf, same, frames * pixels);
    /* All frames of a row, then the next: what is known of its colours stays in the cache. */
    for (Py_ssize_t first = 0; first < pixels; first += width) {
        const uint32_t *before = (uint32_t *)a[BEFORE].view.buf + first;
        uint8_t *indices = (uint8_t *)a[INDICES].view.buf + first;
        for (Py_ssize_t t = 0; t < frames; t++) {
            const uint32_t *now = (uint32_t *)a[FRAMES].view.buf + t * pixels + first;
            const int found = flag(&table, before, now, indices, width, &row);
            if (found)
                move(&table, found, &row, indices,
                     (uint8_t *)a[CHANGES].view.buf + t * pixels + first, (int)(first / width),
                     boxes + t);
            before = now;
        }
    }
    Py_END_ALLOW_THREADS
    done = Py_NewRef(Py_None);
end:
    PyMem_Free(room);
    close_arrays(cells, TABLE);
    close_arrays(a, COUNT);
    return done;
}
