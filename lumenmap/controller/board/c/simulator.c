/* Plays a board's folder on this machine: the very same C as on the board, with files for its
 * flash, this machine's clock, and the terminal for its pixels.
 *
 *   cc -std=c99 -o simulator *.c && ./simulator
 *
 *   simulator [FOLDER]        frames.lmfi, or 0.lmfi, 1.lmfi … and year.lmyt
 *     --seconds N             stop after N seconds (60 if left out; 0: at Ctrl-C)
 *     --raw FILE              write every frame's octets there
 *     --fast                  run as fast as it can, by a clock of its own
 *     --utc N                 begin at this time of day (seconds since 1970); --utc now: this one
 *     --port N                listen for E1.31 on this UDP port of 127.0.0.1
 *     --multicast ADDRESS     listen to the groups of the show's universes too, on the network
 *                             interface that has this address
 */
#define _DEFAULT_SOURCE
#include "board.h"
#include "live.h"
#include "player.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

enum { WIDTH = 100, IMAGES = LMY_IMAGES };

static lmp player;
static lml live;
static uint8_t memory[BOARD_MEMORY];
static uint8_t pixels[BOARD_FRAME];
static FILE *images[IMAGES], *table, *raw;
static uint32_t virtual_ms;
static int fast;
static volatile sig_atomic_t stopped;

static int read_at(void *user, uint32_t image, uint32_t offset, void *to, uint32_t size)
{
    FILE *file = image == LMP_TABLE ? table : image < IMAGES ? images[image] : NULL;
    (void)user;
    return !file || fseek(file, (long)offset, SEEK_SET) != 0 || fread(to, 1, size, file) != size;
}

static uint32_t millis(void *user)
{
    struct timespec t;
    (void)user;
    if (fast)
        return virtual_ms;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint32_t)t.tv_sec * 1000u + (uint32_t)(t.tv_nsec / 1000000);
}

/* A terminal's brightness is not an LED's: dim light is lifted so that it can be seen. */
static unsigned seen(unsigned code)
{
    unsigned v = 0;
    while (v < 255 && v * v * v / 255 / 255 < code)
        v++;
    return v;
}

static void draw(const lmfi_span *line, const uint8_t *codes, unsigned channels)
{
    const uint32_t cells = line->count < WIDTH ? line->count : WIDTH;
    uint32_t i;
    for (i = 0; i < cells; i++) {
        const uint8_t *p = codes + (size_t)(i * line->count / cells) * channels;
        unsigned rgb[4] = { 0 }, c;
        for (c = 0; c < channels; c++)
            rgb[line->order[c] == 'R' ? 0 : line->order[c] == 'G' ? 1 : line->order[c] == 'B' ? 2 : 3] =
                p[c];
        for (c = 0; c < 3; c++)
            rgb[c] = seen(rgb[c] + rgb[3] > 255 ? 255 : rgb[c] + rgb[3]);
        printf("\033[48;2;%u;%u;%um ", rgb[0], rgb[1], rgb[2]);
    }
    printf("\033[0m\033[K\n");
}

static void show(void *user, unsigned line, const uint8_t *codes, uint32_t size)
{
    (void)user;
    if (!player.loaded)
        return;
    if (raw) {
        memcpy(pixels + (size_t)player.setup.line[line].first * player.setup.channels, codes, size);
        if (line + 1u == player.setup.lines && player.state != LMP_ERROR)
            fwrite(pixels, 1, (size_t)player.setup.pixels * player.setup.channels, raw);
    }
    if (!fast && isatty(1)) {
        if (line == 0)
            printf("\033[H");
        draw(&player.setup.line[line], codes, player.setup.channels);
    }
}

static void yield(void *user)
{
    struct timespec t = { 0, 500000 };
    (void)user;
    if (fast)
        virtual_ms++;
    else
        nanosleep(&t, NULL);
}

static FILE *open_in(const char *folder, const char *name)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return fopen(path, "rb");
}

static int listen_on(unsigned port, const char *interface)
{
    struct sockaddr_in at;
    const int s = socket(AF_INET, SOCK_DGRAM, 0), yes = 1;
    memset(&at, 0, sizeof at);
    at.sin_family = AF_INET;
    at.sin_addr.s_addr = htonl(interface ? INADDR_ANY : INADDR_LOOPBACK);
    at.sin_port = htons((uint16_t)port);
    if (s < 0 || setsockopt(s, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) != 0
        || bind(s, (struct sockaddr *)&at, sizeof at) != 0
        || fcntl(s, F_SETFL, O_NONBLOCK) != 0) {
        perror("simulator: port");
        exit(2);
    }
    return s;
}

/* Joins the universes' groups as soon as an image has said which they are. */
static void join(int s, const char *interface)
{
    static int joined;
    struct ip_mreq group;
    unsigned i;
    if (joined || !interface || !player.loaded)
        return;
    joined = 1;
    group.imr_interface.s_addr = inet_addr(interface);
    for (i = 0; lml_universe(&live, i); i++) {
        group.imr_multiaddr.s_addr = htonl(lml_group(lml_universe(&live, i)));
        if (setsockopt(s, IPPROTO_IP, IP_ADD_MEMBERSHIP, &group, sizeof group) != 0)
            perror("simulator: multicast");
    }
}

static void receive(int s)
{
    uint8_t packet[LML_PACKET];
    ssize_t n;
    while (s >= 0 && (n = recv(s, packet, sizeof packet, 0)) > 0)
        lml_packet(&live, packet, (uint32_t)n);
    lml_step(&live);
}

static const char *words(void)
{
    static const char *const said[] = { "opening", "playing", "live", "dark",
                                        "the time isn't known",
                                        "no good image", "a fault of reading",
                                        "the table is over or damaged" };
    return said[lmp_flashes(&player)];
}

/* Tells of a change of state. */
static void tell(void)
{
    static unsigned last;
    static uint32_t image;
    if (!lmp_flashes(&player) || (lmp_flashes(&player) == last && player.image == image))
        return;
    last = lmp_flashes(&player);
    image = player.image;
    fprintf(stderr, "%u flashes: %s", last, words());
    if (player.state == LMP_PLAYING)
        fprintf(stderr, ": image %lu, %s", (unsigned long)image,
                player.decoder[player.which].name);
    fprintf(stderr, "\033[K\n");
}

static void stop(int number)
{
    (void)number;
    stopped = 1;
}

typedef struct {
    const char *folder, *utc, *interface;
    uint32_t seconds;
    unsigned port;
} options;

/* Reads the command line; 0 if it can't be. */
static int understand(options *o, int argc, char **argv)
{
    int i;
    for (i = 1; i < argc; i++) {
        const char *word = argv[i], *value = i + 1 < argc ? argv[i + 1] : NULL;
        if (strncmp(word, "--", 2) != 0) {
            o->folder = word;
            continue;
        }
        if (!strcmp(word, "--fast")) {
            fast = 1;
            continue;
        }
        if (!value)
            return fprintf(stderr, "simulator: %s takes a value\n", word), 0;
        i++;
        if (!strcmp(word, "--seconds"))
            o->seconds = (uint32_t)strtoul(value, NULL, 10);
        else if (!strcmp(word, "--raw"))
            raw = fopen(value, "wb");
        else if (!strcmp(word, "--utc"))
            o->utc = value;
        else if (!strcmp(word, "--port"))
            o->port = (unsigned)strtoul(value, NULL, 10);
        else if (!strcmp(word, "--multicast"))
            o->interface = value;
        else
            return fprintf(stderr, "simulator: no option %s\n", word), 0;
    }
    return 1;
}

static int open_images(const char *folder)
{
    unsigned k;
    for (k = 0; k < IMAGES; k++) {
        char name[32];
        snprintf(name, sizeof name, "%u.lmfi", k);
        images[k] = open_in(folder, name);
    }
    if (!images[0])
        images[0] = open_in(folder, "frames.lmfi");
    if (!images[0])
        fprintf(stderr, "simulator: no frames.lmfi or 0.lmfi in %s\n", folder);
    table = open_in(folder, "year.lmyt");
    return images[0] != NULL;
}

static void run(int s, const options *o)
{
    const uint32_t begun = millis(NULL);
    signal(SIGINT, stop);
    signal(SIGTERM, stop);
    if (!fast && isatty(1))
        printf("\033[2J");
    while (!stopped && (o->seconds == 0 || millis(NULL) - begun < 1000 * o->seconds)) {
        lmp_step(&player);
        join(s, o->interface);
        receive(s);
        tell();
        fflush(stdout);
    }
}

int main(int argc, char **argv)
{
    static const lmp_board board = { read_at, show, millis, yield, NULL };
    options o = { ".", NULL, NULL, 60, 0 };
    int s = -1;
    if (!understand(&o, argc, argv) || !open_images(o.folder))
        return 2;
    if (o.port || o.interface)
        s = listen_on(o.port ? o.port : LML_PORT, o.interface);
    lmp_init(&player, &board, memory, sizeof memory, BOARD_LINES);
    lml_init(&live, &player, 0);
    if (o.utc)
        lmp_set_time(&player, !strcmp(o.utc, "now") ? (uint32_t)time(NULL)
                                                    : (uint32_t)strtoul(o.utc, NULL, 10));
    if (table)
        lmp_follow_table(&player);
    else
        lmp_play(&player, 0);
    run(s, &o);
    fprintf(stderr, "%lu frames shown, %lu left out\n", (unsigned long)player.shown,
            (unsigned long)player.dropped);
    return player.state == LMP_ERROR;
}
