/* Plays damaged images, and looks in damaged tables, under the sanitizers.
 *
 *   fuzz image IMAGE FRAMES COUNT SEED   every frame on the wire is held against the caps by sums
 *                                        of its own; without a new CRC it must be a true frame
 *   fuzz bits IMAGE FRAMES               each bit of the image alone
 *   fuzz table TABLE COUNT SEED
 *   fuzz packets IMAGE DATA SYNC COUNT SEED
 *
 * Half of the copies get CRCs that fit the damage. Prints how they ended.
 */
#include "bench.h"
#include "lumenmap_bits.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static uint8_t *whole, *frames;
static uint32_t size, frames_size;
static bench *now;
static int repaired;
static unsigned long shown, dark, over, wrong;

static uint32_t state;

static uint32_t random32(void)
{
    state ^= state << 13;
    state ^= state >> 17;
    state ^= state << 5;
    return state;
}

static uint8_t *load(const char *name, uint32_t *n)
{
    uint8_t *data = malloc(1 << 22);
    FILE *f = fopen(name, "rb");
    if (!f || !data)
        exit(2);
    *n = (uint32_t)fread(data, 1, 1 << 22, f);
    fclose(f);
    return data;
}

/* The caps once more, from the image's own octets, pixel by pixel. */
static int within_caps(const uint8_t *image, const uint8_t *codes)
{
    const unsigned lines = image[36] | (unsigned)image[37] << 8, caps = image[38], c_n = image[5];
    const uint8_t *limit = image + 76 + 24 * lines, *zone = limit + 8 * caps;
    unsigned k;
    for (k = 0; k < caps; k++) {
        uint64_t sum = 0, most = lmfi_u32(limit + 8 * k) | (uint64_t)lmfi_u32(limit + 8 * k + 4) << 32;
        const uint8_t *z = zone;
        unsigned left = 0, share = 0, line = 0, in_line = 0, c;
        uint32_t pixel;
        for (pixel = 0; pixel < lmfi_u32(image + 20); pixel++, in_line++) {
            while (left == 0) {
                left = z[0] | (unsigned)z[1] << 8;
                share = z[2 + 2 * k] | (unsigned)z[3 + 2 * k] << 8;
                z += 2 + 2 * caps;
            }
            while (in_line == lmfi_u32(image + 76 + 24 * line + 4)) {
                line++;
                in_line = 0;
            }
            for (c = 0; c < c_n; c++) {
                const uint8_t *w = image + 76 + 24 * line + 16 + 2 * c;
                sum += (uint64_t)(w[0] | (unsigned)w[1] << 8) * codes[pixel * c_n + c] * share;
            }
            left--;
        }
        if (sum > most)
            return 0;
    }
    return 1;
}

static void look_at(bench *b, const uint8_t *codes, uint32_t n)
{
    uint32_t i, lit = 0;
    for (i = 0; i < n; i++)
        lit += codes[i];
    if (!lit) {
        dark++;
        return;
    }
    shown++;
    if (!within_caps(b->file[0].data, codes))
        over++;
    if (!repaired) {
        for (i = 0; i + n <= frames_size && memcmp(frames + i, codes, n) != 0; i += n)
            ;
        wrong += i + n > frames_size;
    }
}

static void put32(uint8_t *p, uint32_t v)
{
    p[0] = (uint8_t)v;
    p[1] = (uint8_t)(v >> 8);
    p[2] = (uint8_t)(v >> 16);
    p[3] = (uint8_t)(v >> 24);
}

/* New CRCs wherever the image's own numbers say that they belong. */
static void repair(uint8_t *image, uint32_t n)
{
    const uint32_t header = lmfi_u32(image + 8), s = lmfi_u32(image + 32);
    uint32_t count = s ? (lmfi_u32(image + 16) + s - 1) / s : 0, i;
    if (header > n || header < 80)
        return;
    for (i = 0; i < count && 12 * (i + 1) + 80 <= header; i++) {
        uint8_t *entry = image + header - 4 - 12 * (i + 1);
        const uint32_t at = lmfi_u32(entry), size_ = lmfi_u32(entry + 4);
        if (at <= n && size_ <= n - at)
            put32(entry + 8, lmfi_crc32(0xffffffff, image + at, size_) ^ 0xffffffff);
    }
    put32(image + header - 4, lmfi_crc32(0xffffffff, image, header - 4) ^ 0xffffffff);
}

/* One to four changes: a bit, an octet, a number of 32 bits, an octet of elsewhere. */
static uint8_t *damaged(uint32_t *n, uint32_t tail)
{
    uint8_t *copy = malloc(size);
    unsigned changes = 1 + random32() % 4;
    memcpy(copy, whole, size);
    *n = size;
    while (changes--) {
        /* Headers are small beside data, and as interesting. */
        uint32_t at = random32() % (random32() % 3 ? size : size < 400 ? size : 400);
        switch (random32() % 4) {
        case 0: copy[at] = (uint8_t)(copy[at] ^ 1u << random32() % 8); break;
        case 1: copy[at] = (uint8_t)random32(); break;
        case 2:
            if (at + 4 <= size)
                put32(copy + at, random32() % 2 ? random32() : random32() % 64);
            break;
        default: copy[at] = copy[random32() % size]; break;
        }
    }
    repaired = random32() % 2;
    if (repaired && tail)
        put32(copy + size - 4, lmfi_crc32(0xffffffff, copy, size - 4) ^ 0xffffffff);
    else if (repaired)
        repair(copy, size);
    if (random32() % 50 == 0)
        *n = random32() % size;
    return copy;
}

static int images(unsigned count)
{
    unsigned ends[LMP_ERROR + 1] = { 0 }, held = 0;
    const uint32_t memory = 2 * lmfi_u32(whole + 20) * whole[5] + 200;
    while (count--) {
        uint32_t n;
        uint8_t *copy = damaged(&n, 0);
        now = bench_new(memory, 2, random32(), 0);
        now->on_frame = look_at;
        bench_set_file(now, 0, copy, n);
        lmp_play(&now->p, 0);
        bench_run(now, 4000, 5);
        ends[now->p.state]++;
        held += now->p.error == LMP_OVER;
        bench_free(now);
        free(copy);
    }
    printf("%u playing, %u error, %lu frames shown, %lu black, %lu over caps, %lu wrong, "
           "%u held back by caps\n",
           ends[LMP_PLAYING], ends[LMP_ERROR], shown, dark, over, wrong, held);
    return over || wrong;
}

/* Every bit of the image, one at a time, no CRC made to fit. */
static int bits(void)
{
    unsigned long caught = 0, unused = 0;
    uint32_t at;
    const uint32_t memory = 2 * lmfi_u32(whole + 20) * whole[5] + 200;
    for (at = 0; at < 8 * size; at++) {
        whole[at / 8] = (uint8_t)(whole[at / 8] ^ 1u << at % 8);
        now = bench_new(memory, 2, 0, 0);
        now->on_frame = look_at;
        bench_set_file(now, 0, whole, size);
        lmp_play(&now->p, 0);
        bench_run(now, 4000, 5);
        caught += now->p.state == LMP_ERROR;
        unused += now->p.state == LMP_PLAYING;
        bench_free(now);
        whole[at / 8] = (uint8_t)(whole[at / 8] ^ 1u << at % 8);
    }
    printf("%lu bits: %lu caught, %lu not, %lu frames over caps, %lu wrong\n", 8ul * size, caught,
           unused, over, wrong);
    return unused || over || wrong;
}

static int table_read(void *user, uint32_t offset, void *to, uint32_t n)
{
    const bench_file *f = user;
    if (offset > f->size || n > f->size - offset)
        return 1;
    memcpy(to, f->data + offset, n);
    return 0;
}

static int tables(unsigned count)
{
    unsigned ends[6] = { 0 }, bad = 0;
    while (count--) {
        bench_file f;
        uint32_t n;
        uint8_t *copy = damaged(&n, 1);
        lmy_piece piece;
        int got, k;
        f.data = copy;
        f.size = n;
        for (k = 0; k < 4; k++) {
            const uint32_t at = lmfi_u32(whole + 12) + random32() % 31622400u;
            got = k ? lmy_look(table_read, &f, at, &piece) : lmy_default(table_read, &f, &piece);
            ends[got + 3]++;
            if (got == LMY_PLAY && (piece.image >= copy[5] || piece.image >= LMY_IMAGES))
                bad++;
            if (got == LMY_PLAY && k && (piece.begun > at || piece.until <= at))
                bad++;
            if (got >= 0 && !repaired && (n != size || memcmp(copy, whole, size) != 0))
                bad++;
        }
        free(copy);
    }
    printf("%u corrupt, %u format, %u read, %u play, %u dark, %u over, %u bad\n", ends[0], ends[1],
           ends[2], ends[3], ends[4], ends[5], bad);
    return bad != 0;
}

/* Damaged packets among good ones, at random times; then silence. */
static int packets(uint8_t *const good[2], const uint32_t *sizes, unsigned count)
{
    unsigned ends[8] = { 0 };
    repaired = 1; /* what is shown need not be a frame of the show */
    now = bench_new(2 * lmfi_u32(whole + 20) * whole[5] + 200, 2, random32(), 0);
    lml_init(&now->live, &now->p, 1);
    now->on_frame = look_at;
    bench_set_file(now, 0, whole, size);
    lmp_play(&now->p, 0);
    bench_run(now, 300, 5);
    while (count--) {
        const unsigned which = random32() % 8 == 0;
        uint32_t n = sizes[which], changes = random32() % 4;
        uint8_t *copy = malloc(n); /* exactly, so that a read beyond is seen */
        memcpy(copy, good[which], n);
        if (!which) {
            copy[111] = (uint8_t)(0 - count); /* sequence */
            copy[114] = (uint8_t)(random32() % 4);
        } else
            copy[44] = (uint8_t)(0 - count);
        while (changes--) {
            const uint32_t at = random32() % (random32() % 4 ? (n < 126 ? n : 126) : n);
            copy[at] = (uint8_t)(random32() % 2 ? random32() : copy[at] ^ 1u << random32() % 8);
        }
        if (random32() % 20 == 0)
            n = random32() % n;
        if (n < sizes[which]) {
            uint8_t *shorter = malloc(n + 1u);
            memcpy(shorter, copy, n);
            free(copy);
            copy = shorter;
        }
        ends[lml_packet(&now->live, copy, n)]++;
        free(copy);
        bench_run(now, random32() % 100 == 0 ? 4000 : random32() % 12, 1);
    }
    bench_run(now, 8000, 1);
    printf("%u taken, %u not E1.31, %u not ours, %u not light, %u late, %u lower, %u ended, "
           "%lu shown, %lu over caps, %u back\n", ends[0], ends[1], ends[2], ends[3], ends[4],
           ends[5], ends[6], shown, over, now->p.state == LMP_PLAYING);
    return over != 0 || now->p.state != LMP_PLAYING;
}

int main(int argc, char **argv)
{
    if (argc < 3)
        return 2;
    whole = load(argv[2], &size);
    if (!strcmp(argv[1], "table")) {
        state = (uint32_t)atoi(argv[4]);
        return tables((unsigned)atoi(argv[3]));
    }
    if (!strcmp(argv[1], "packets")) {
        static uint8_t *good[2];
        static uint32_t sizes[2];
        good[0] = load(argv[3], &sizes[0]);
        good[1] = load(argv[4], &sizes[1]);
        state = (uint32_t)atoi(argv[6]);
        return packets(good, sizes, (unsigned)atoi(argv[5]));
    }
    frames = load(argv[3], &frames_size);
    if (!strcmp(argv[1], "bits"))
        return bits();
    state = (uint32_t)atoi(argv[5]);
    return images((unsigned)atoi(argv[4]));
}
