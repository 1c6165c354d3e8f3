/* Plays the file "image" once to its end on a bare emulated processor, whose debugger gives it
 * files (semihosting): every frame goes to the file "out", and the instructions that each took to
 * the file "counts", 4 octets each. */
#include "machine.h"
#include "player.h"

#ifndef MOST_PIXELS
#define MOST_PIXELS 1000
#endif

static lmp player;
static uint8_t memory[LMP_MEMORY(3 * MOST_PIXELS, 4096)];
static uint8_t image[3u << 20], wire[3 * MOST_PIXELS];
static uint32_t image_size, now, counts[1 << 12], taken, frames;

static int read_at(void *user, uint32_t which, uint32_t offset, void *to, uint32_t size)
{
    const uint8_t *from = image + offset;
    uint8_t *t = (uint8_t *)to;
    (void)user;
    if (which != 0 || offset > image_size || size > image_size - offset)
        return 1;
    while (size--)
        *t++ = *from++;
    return 0;
}

static void show(void *user, unsigned line, const uint8_t *codes, uint32_t size)
{
    uint32_t i;
    (void)user;
    if (player.state != LMP_PLAYING)
        return;
    for (i = 0; i < size; i++)
        wire[player.setup.line[line].first * player.setup.channels + i] = codes[i];
}

static uint32_t millis(void *user)
{
    (void)user;
    return now;
}

static void yield(void *user)
{
    (void)user;
}

int main(void)
{
    static const lmp_board board = { read_at, show, millis, yield, 0 };
    const int out = machine_open("out", 5);
    int file = machine_open("image", 1);
    image_size = machine_read(file, image, sizeof image);
    lmp_init(&player, &board, memory, sizeof memory, 1);
    lmp_play(&player, 0);
    while (player.state != LMP_ERROR && (frames == 0 || frames < player.decoder[player.which].frames)) {
        const uint32_t before = machine_instructions();
        const uint32_t shown = player.shown;
        lmp_step(&player);
        taken += machine_instructions() - before;
        now++;
        if (player.shown == shown)
            continue;
        machine_write(out, wire, player.setup.pixels * player.setup.channels);
        if (frames < sizeof counts / sizeof *counts)
            counts[frames] = taken; /* from the frame before to this one */
        frames++;
        taken = 0;
    }
    machine_write(out, "", 0);
    file = machine_open("counts", 5);
    machine_write(file, counts, 4 * (frames < 1 << 12 ? frames : 1 << 12));
    return player.state == LMP_ERROR;
}
