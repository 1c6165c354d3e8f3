/* lzw: palette indices as an image of a GIF (GIF89a, section 22 and appendix F). */

#include "loops.h"

enum { CLEAR = 256, END = 257, FIRST = 258, CODES = 4096, BLOCK = 255 };
/* Places of the hash table: twice as many as codes, so that few share one. */
enum { PLACES = 8192 };

/* Where codes go: bits, lowest first, in blocks that begin with their length. */
typedef struct {
    uint8_t *next, *length; /* the next byte; the length of the block that is being filled */
    uint64_t bits;
    int held;
} Stream;

static void put_byte(Stream *stream, uint8_t byte)
{
    if (*stream->length == BLOCK) {
        stream->length = stream->next++;
        *stream->length = 0;
    }
    *stream->next++ = byte;
    ++*stream->length;
}

static void put(Stream *stream, uint32_t code, int width)
{
    stream->bits |= (uint64_t)code << stream->held;
    for (stream->held += width; stream->held >= 8; stream->held -= 8) {
        put_byte(stream, (uint8_t)stream->bits);
        stream->bits >>= 8;
    }
}

/* Compress `count` > 0 indices to `out`, which has room for all; return the end. */
static uint8_t *compress(const uint8_t *from, Py_ssize_t count, uint8_t *out)
{
    /* 12 bits of prefix, 8 of an index, 12 of the code that stands for both; 0 is free. */
    uint32_t table[PLACES];
    Stream stream = {out + 1, out, 0, 0};
    uint32_t code = from[0], fresh = FIRST;
    int width = 9;
    *out = 0;
    memset(table, 0, sizeof table);
    put(&stream, CLEAR, width);
    for (Py_ssize_t i = 1; i < count; i++) {
        const uint32_t key = code << 8 | from[i];
        uint32_t place = (key * 2654435761u) >> 19, entry; /* Knuth's multiplicative hash */
        while ((entry = table[place]) != 0 && entry >> 12 != key)
            place = (place + 1) & (PLACES - 1);
        if (entry != 0) {
            code = entry & (CODES - 1);
            continue;
        }
        put(&stream, code, width);
        code = from[i];
        if (fresh < CODES) {
            table[place] = key << 12 | fresh;
            width += fresh++ == 1u << width;
        } else {
            put(&stream, CLEAR, width);
            memset(table, 0, sizeof table);
            fresh = FIRST;
            width = 9;
        }
    }
    put(&stream, code, width);
    /* The decoder adds a code for the last one, too, and may by that need a bit more. */
    width += fresh < CODES && fresh == 1u << width;
    put(&stream, END, width);
    if (stream.held)
        put_byte(&stream, (uint8_t)stream.bits);
    *stream.next++ = 0; /* an empty block ends the image */
    return stream.next;
}

/* lzw(part, x, y, width) -> bytes */
PyObject *loops_lzw(PyObject *module, PyObject *args)
{
    static const Kind kinds[1] = {{"part", 1, 0}};
    PyObject *from, *done = NULL;
    Array part;
    int x, y, width;
    (void)module;
    if (!PyArg_ParseTuple(args, "Oiii", &from, &x, &y, &width))
        return NULL;
    if (!open_arrays(&part, &from, kinds, 1))
        goto end;
    if (width < 1 || width > 65535 || part.count < 1 || part.count % width
        || part.count / width > 65535 || x < 0 || x > 65535 || y < 0 || y > 65535) {
        unfit("lzw");
        goto end;
    }
    const int height = (int)(part.count / width);
    /* A code of 12 bits for each index, one more at each new start of the table, and lengths. */
    uint8_t *room = PyMem_Malloc(64 + (size_t)part.count * 2);
    if (room == NULL) {
        PyErr_NoMemory();
        goto end;
    }
    const uint8_t head[11] = {
        ',', x & 255, x >> 8, y & 255, y >> 8, width & 255, width >> 8, height & 255, height >> 8,
        0,   /* no colours of its own, rows in order */
        8,   /* bits of an index */
    };
    memcpy(room, head, sizeof head);
    uint8_t *stop;
    Py_BEGIN_ALLOW_THREADS
    stop = compress(part.view.buf, part.count, room + sizeof head);
    Py_END_ALLOW_THREADS
    done = PyBytes_FromStringAndSize((const char *)room, stop - room);
    PyMem_Free(room);
end:
    close_arrays(&part, 1);
    return done;
}
