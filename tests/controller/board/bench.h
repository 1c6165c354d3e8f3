/* A made-up board: flash that is memory, a clock that a test moves, and a wire that remembers. */
#ifndef BENCH_H
#define BENCH_H

#include "live.h"
#include "player.h"
#include "serial.h"

typedef struct {
    const uint8_t *data;
    uint32_t size;
} bench_file;

typedef struct bench {
    lmp p;
    lml live;
    lms serial;
    bench_file file[LMY_IMAGES], table;
    uint32_t now, idle;         /* idle: yields so far */
    int fail_reads;             /* every so many-th read fails; 0: none */
    uint32_t reads;
    uint8_t *memory, *wire;     /* wire: what each line carries now */
    uint32_t memory_size, frames;
    uint8_t *log;               /* for each frame: ms, state, its octets' count, octets */
    uint32_t log_size, log_used;
    void (*on_frame)(struct bench *b, const uint8_t *codes, uint32_t size);
} bench;

bench *bench_new(uint32_t memory_size, unsigned lines, uint32_t now, uint32_t log_size);
void bench_free(bench *b);
void bench_set_file(bench *b, uint32_t number, const uint8_t *data, uint32_t size);
void bench_run(bench *b, uint32_t ms, uint32_t step);
void bench_jump(bench *b, uint32_t ms, unsigned steps);

#endif
