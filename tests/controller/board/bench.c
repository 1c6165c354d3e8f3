#include "bench.h"

#include <stdlib.h>
#include <string.h>

static int read_at(void *user, uint32_t image, uint32_t offset, void *to, uint32_t size)
{
    bench *b = (bench *)user;
    const bench_file *f = image == LMP_TABLE ? &b->table : image < LMY_IMAGES ? &b->file[image] : 0;
    b->reads++;
    if (!f || !f->data || offset > f->size || size > f->size - offset)
        return 1;
    if (b->fail_reads && b->reads % (uint32_t)b->fail_reads == 0)
        return 1;
    memcpy(to, f->data + offset, size);
    return 0;
}

static void put(bench *b, const void *from, uint32_t size)
{
    if (size > b->log_size - b->log_used)
        return;
    memcpy(b->log + b->log_used, from, size);
    b->log_used += size;
}

static void show(void *user, unsigned line, const uint8_t *codes, uint32_t size)
{
    bench *b = (bench *)user;
    const uint32_t all = b->p.loaded ? b->p.setup.pixels * b->p.setup.channels : size;
    const uint32_t first = b->p.loaded ? b->p.setup.line[line].first * b->p.setup.channels : 0;
    const uint32_t state = (uint32_t)b->p.state;
    memcpy(b->wire + first, codes, size);
    if (b->p.loaded && line + 1u != b->p.setup.lines)
        return;
    b->frames++;
    if (b->on_frame)
        b->on_frame(b, b->wire, all);
    put(b, &b->now, 4);
    put(b, &state, 4);
    put(b, &all, 4);
    put(b, b->wire, all);
}

static uint32_t millis(void *user)
{
    return ((bench *)user)->now;
}

static void yield(void *user)
{
    ((bench *)user)->idle++;
}

bench *bench_new(uint32_t memory_size, unsigned lines, uint32_t now, uint32_t log_size)
{
    bench *b = (bench *)calloc(1, sizeof *b);
    lmp_board board = { read_at, show, millis, yield, 0 };
    board.user = b;
    b->now = now;
    b->log_size = log_size;
    b->log = (uint8_t *)malloc(log_size + 1);
    b->memory = (uint8_t *)malloc(memory_size); /* exactly, so that a write beyond is seen */
    memset(b->memory, 0xa5, memory_size);
    b->wire = (uint8_t *)calloc(1, memory_size);
    b->memory_size = memory_size;
    lmp_init(&b->p, &board, b->memory, memory_size, lines);
    lml_init(&b->live, &b->p, 0);
    lms_init(&b->serial, &b->p);
    return b;
}

void bench_free(bench *b)
{
    free(b->memory);
    free(b->wire);
    free(b->log);
    free(b);
}

void bench_set_file(bench *b, uint32_t number, const uint8_t *data, uint32_t size)
{
    bench_file *f = number == LMP_TABLE ? &b->table : &b->file[number];
    f->data = data;
    f->size = size;
}

/* Lets time pass, `step` milliseconds at a time. */
void bench_run(bench *b, uint32_t ms, uint32_t step)
{
    while (ms >= step) {
        lmp_step(&b->p);
        lml_step(&b->live);
        lms_step(&b->serial);
        b->now += step;
        ms -= step;
    }
}

/* The clock moves on at once, and then the board does all that it can. */
void bench_jump(bench *b, uint32_t ms, unsigned steps)
{
    b->now += ms;
    while (steps--) {
        lmp_step(&b->p);
        lml_step(&b->live);
        lms_step(&b->serial);
    }
}

/* What Python calls. */
void bench_heed_sync(bench *b) { lml_init(&b->live, &b->p, 1); }
void bench_play(bench *b, uint32_t image) { lmp_play(&b->p, image); }
void bench_stop(bench *b) { lmp_stop(&b->p); }
void bench_level(bench *b, unsigned level) { lmp_set_level(&b->p, (uint8_t)level); }
void bench_follow(bench *b) { lmp_follow_table(&b->p); }
void bench_time(bench *b, uint32_t utc) { lmp_set_time(&b->p, utc); }
void bench_lose_time(bench *b) { lmp_lose_time(&b->p); }
uint32_t bench_utc(const bench *b) { return lmp_time(&b->p); }
void bench_fail(bench *b, int every) { b->fail_reads = every; }
int bench_packet(bench *b, const uint8_t *p, uint32_t n) { return lml_packet(&b->live, p, n); }
void bench_octets(bench *b, const uint8_t *p, uint32_t n) { lms_octets(&b->serial, p, n); }
unsigned bench_bad(const bench *b) { return b->serial.bad; }
unsigned bench_universe(const bench *b, unsigned i) { return lml_universe(&b->live, i); }
int bench_state(const bench *b) { return (int)b->p.state; }
int bench_error(const bench *b) { return b->p.error; }
int bench_table(const bench *b) { return b->p.table; }
uint32_t bench_image(const bench *b) { return b->p.image; }
uint32_t bench_dropped(const bench *b) { return b->p.dropped; }
unsigned bench_flashes(const bench *b) { return lmp_flashes(&b->p); }
unsigned bench_lamp(const bench *b) { return lmp_lamp(&b->p); }
uint32_t bench_used(const bench *b) { return b->log_used; }
const uint8_t *bench_log(const bench *b) { return b->log; }
void bench_forget(bench *b) { b->log_used = 0; }
const uint8_t *bench_wire(const bench *b) { return b->wire; }
