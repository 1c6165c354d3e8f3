/* image: palette indices as an image of a GIF (GIF89a, sections 20 and 22, and appendix F). */

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

/* Return how many bytes from `at` on, before `stop`, are `same`. */
static Py_ssize_t run_of(const uint8_t *at, const uint8_t *stop, uint8_t same)
{
    const uint8_t *from = at;
    const uint64_t all = same * UINT64_C(0x0101010101010101);
    for (uint64_t eight; stop - at >= 8; at += 8) {
        memcpy(&eight, at, 8);
        if (eight != all)
            break;
    }
    while (at < stop && *at == same)
        at++;
    return at - from;
}

/* Compress `count` > 0 indices to `out`, which has room for all; return the end.

Runs of `same` are the most of a picture. Those that the table holds are taken at once: which code
stands for 1, 2, 3... of them is kept in `runs`. */
static uint8_t *compress(const uint8_t *from, Py_ssize_t count, uint8_t same, uint8_t *out)
{
    /* 12 bits of prefix, 8 of an index, 12 of the code that stands for both; 0 is free. */
    uint32_t table[PLACES];
    uint16_t runs[CODES];
    Py_ssize_t longest = 1;
    Stream stream = {out + 1, out, 0, 0};
    uint32_t code = from[0], fresh = FIRST;
    int width = 9;
    *out = 0;
    memset(table, 0, sizeof table);
    runs[1] = same;
    put(&stream, CLEAR, width);
    for (Py_ssize_t i = 1;; i++) {
        if (code == same) { /* a string begins with it */
            Py_ssize_t run = 1 + run_of(from + i, from + count, same);
            run = run < longest ? run : longest;
            code = runs[run];
            i += run - 1;
        }
        if (i >= count)
            break;
        const uint32_t key = code << 8 | from[i];
        uint32_t place = (key * 2654435761u) >> 19, entry; /* Knuth's multiplicative hash */
        while ((entry = table[place]) != 0 && entry >> 12 != key)
            place = (place + 1) & (PLACES - 1);
        if (entry != 0) {
            code = entry & (CODES - 1);
            continue;
        }
        put(&stream, code, width);
        if (fresh < CODES) {
            table[place] = key << 12 | fresh;
            if (code == runs[longest] && from[i] == same)
                runs[++longest] = (uint16_t)fresh;
            width += fresh++ == 1u << width;
        } else {
            put(&stream, CLEAR, width);
            memset(table, 0, sizeof table);
            longest = 1;
            fresh = FIRST;
            width = 9;
        }
        code = from[i];
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

/* image(indices, columns, left, top, width, height, same) -> bytes: of that box of the indices */
PyObject *loops_image(PyObject *module, PyObject *args)
{
    static const Kind kinds[1] = {{"indices", 1, 0}};
    PyObject *o[1], *done = NULL;
    Array a[1];
    uint8_t *room = NULL;
    int columns, left, top, width, height, same;
    (void)module;
    if (!PyArg_ParseTuple(args, "Oiiiiii", &o[0], &columns, &left, &top, &width, &height, &same))
        return NULL;
    if (!open_arrays(a, o, kinds, 1))
        goto end;
    const Py_ssize_t pixels = a[0].count;
    if (columns < 1 || columns > 65535 || pixels % columns || pixels / columns > 65535 || left < 0
        || top < 0 || width < 1 || height < 1 || width > columns - left
        || height > pixels / columns - top || same < 0 || same > 255) {
        unfit("image");
        goto end;
    }
    const Py_ssize_t size = (Py_ssize_t)width * height;
    /* The part, then what it becomes: at most 12 bits for each index, one code more at each new start
    of the table, and the lengths of blocks. */
    room = PyMem_Malloc(64 + (size_t)size * 3);
    if (room == NULL) {
        PyErr_NoMemory();
        goto end;
    }
    uint8_t *out = room + size, *stop;
    const uint8_t head[11] = {
        ',',
        (uint8_t)left, (uint8_t)(left >> 8), (uint8_t)top, (uint8_t)(top >> 8),
        (uint8_t)width, (uint8_t)(width >> 8), (uint8_t)height, (uint8_t)(height >> 8),
        0, /* no colours of its own, rows in order */
        8, /* bits of an index */
    };
    memcpy(out, head, sizeof head);
    Py_BEGIN_ALLOW_THREADS
    for (int y = 0; y < height; y++)
        memcpy(room + (Py_ssize_t)y * width,
               (const uint8_t *)a[0].view.buf + (Py_ssize_t)(top + y) * columns + left, width);
    stop = compress(room, size, (uint8_t)same, out + sizeof head);
    Py_END_ALLOW_THREADS
    done = PyBytes_FromStringAndSize((const char *)out, stop - out);
end:
    PyMem_Free(room);
    close_arrays(a, 1);
    return done;
}
