/* Drives the reference decoder for the tests.
 *
 *   flash_tool decode IMAGE            all frames to standard output
 *   flash_tool seek IMAGE FRAME...     those frames to standard output
 *   flash_tool info IMAGE              what the header says, and the decoder's memory
 *   flash_tool mutate IMAGE COUNT SEED decodes COUNT damaged copies; prints how each ended
 */
#include "lumenmap_flash.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const uint8_t *data;
    uint32_t size;
} image;

static int from_memory(void *user, uint32_t offset, void *to, uint32_t size)
{
    const image *i = user;
    if (offset > i->size || size > i->size - offset)
        return 1;
    memcpy(to, i->data + offset, size);
    return 0;
}

static int all_frames(image *i, FILE *out)
{
    lmfi d;
    uint8_t *frame;
    int error = lmfi_open(&d, from_memory, i, i->size);
    if (error)
        return error;
    frame = malloc(lmfi_frame_size(&d)); /* exactly, so that a write beyond is seen */
    while ((error = lmfi_next(&d, frame)) == LMFI_OK)
        if (out)
            fwrite(frame, 1, lmfi_frame_size(&d), out);
    free(frame);
    return error == LMFI_END ? LMFI_OK : error;
}

static uint32_t random32(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

static int mutate(const image *whole, unsigned count, uint32_t seed)
{
    unsigned ends[6] = { 0 }, k;
    for (k = 0; k < count; k++) {
        image copy;
        uint8_t *data;
        int error;
        unsigned changes = random32(&seed) % 4, c;
        copy.size = whole->size;
        if (changes == 0 && random32(&seed) % 2) /* cut short */
            copy.size = random32(&seed) % whole->size;
        data = malloc(copy.size + 1);
        memcpy(data, whole->data, copy.size);
        if (copy.size == whole->size) {
            uint32_t at = random32(&seed) % copy.size;
            data[at] = (uint8_t)(data[at] ^ (1 + random32(&seed) % 255));
            for (c = 0; c < changes; c++) /* more, close by */
                data[(at + random32(&seed) % 64) % copy.size] = (uint8_t)random32(&seed);
            if (memcmp(data, whole->data, copy.size) == 0)
                data[at] ^= 1;
        }
        copy.data = data;
        error = all_frames(&copy, NULL);
        ends[error > 0 || error < -4 ? 5 : -error]++;
        free(data);
    }
    printf("%u ok, %u read, %u format, %u corrupt, %u range, %u other\n", ends[0], ends[1],
           ends[2], ends[3], ends[4], ends[5]);
    return 0;
}

int main(int argc, char **argv)
{
    static uint8_t data[1 << 24];
    image i;
    FILE *file = argc > 2 ? fopen(argv[2], "rb") : NULL;
    if (!file)
        return 2;
    i.size = (uint32_t)fread(data, 1, sizeof data, file);
    i.data = data;
    fclose(file);
    if (!strcmp(argv[1], "decode"))
        return -all_frames(&i, stdout);
    if (!strcmp(argv[1], "mutate"))
        return mutate(&i, (unsigned)atoi(argv[3]), (uint32_t)atoi(argv[4]));
    {
        lmfi d;
        int error = lmfi_open(&d, from_memory, &i, i.size), k;
        if (error)
            return -error;
        if (!strcmp(argv[1], "info")) {
            lmfi_span line;
            uint32_t n;
            printf("%lu %lu %u %lu/%lu %lu %u %lu %d\n", (unsigned long)d.frames,
                   (unsigned long)d.pixels, d.channels, (unsigned long)d.rate_num,
                   (unsigned long)d.rate_den, (unsigned long)d.segment, d.loss,
                   (unsigned long)sizeof d, lmfi_verify(&d));
            for (n = 0; lmfi_line(&d, n, &line) == LMFI_OK; n++)
                printf("%lu %lu %u %s\n", (unsigned long)line.first, (unsigned long)line.count,
                       line.universe, line.order);
            return 0;
        }
        for (k = 3; k < argc; k++) {
            uint8_t *frame = malloc(lmfi_frame_size(&d));
            error = lmfi_seek(&d, (uint32_t)strtoul(argv[k], NULL, 10), frame);
            if (!error)
                fwrite(frame, 1, lmfi_frame_size(&d), stdout);
            free(frame);
            if (error)
                return -error;
        }
    }
    return 0;
}
