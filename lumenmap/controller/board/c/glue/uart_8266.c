/* Example, not run on hardware here: the player on the ESP8266 family, pixels on GPIO2 by UART 1.
 *
 * Written against the vendor's non-OS SDK from its published reference; register places are from
 * memory and the compiler saw stub headers only. Try it with one pixel first, and with a fuse.
 *
 * Flash: put the images and year.lmyt at the addresses below with your tool chain's own flash tool;
 * they must lie beyond the program and be multiples of 4096.
 */
#include "board.h"
#include "live.h"
#include "player.h"
#include "wire.h"

#include "c_types.h"
#include "eagle_soc.h"
#include "espconn.h"
#include "ets_sys.h"
#include "osapi.h"
#include "spi_flash.h"
#include "user_interface.h"

enum { IMAGE_AT = 0x100000, IMAGE_ROOM = 0x80000, TABLE_AT = 0x0f0000 };
enum { STATUS_PIN = 16, LINE = 0, FIFO = 100 };

#define UART1 0x60000f00u
#define UART_FIFO (UART1 + 0x00)
#define UART_STATUS (UART1 + 0x1c)
#define UART_CLKDIV (UART1 + 0x14)
#define UART_CONF0 (UART1 + 0x20)
#define UART_6N1_INVERTED (1u << 22 | 1u << 4 | 1u << 2) /* TXD inverted; 1 stop; 6 data bits */

static lmp player;
static lml live;
static uint8_t memory[BOARD_MEMORY];
static const lmw_kind *kind;

/* The flash is read in whole words from addresses that are multiples of 4. */
static int read_at(void *user, uint32_t image, uint32_t offset, void *to, uint32_t size)
{
    const uint32_t base = image == LMP_TABLE ? (uint32_t)TABLE_AT : IMAGE_AT + image * IMAGE_ROOM;
    uint8_t *out = (uint8_t *)to;
    (void)user;
    if (offset > IMAGE_ROOM || size > IMAGE_ROOM - offset)
        return 1;
    while (size) {
        uint32_t words[16], at = base + offset, skip = at & 3, n = sizeof words - skip, i;
        n = n < size ? n : size;
        if (spi_flash_read(at - skip, words, sizeof words) != SPI_FLASH_RESULT_OK)
            return 1;
        for (i = 0; i < n; i++)
            *out++ = ((const uint8_t *)words)[skip + i];
        offset += n;
        size -= n;
    }
    return 0;
}

/* Four characters a code, a few codes at a time; the FIFO has room for 128. It must not run empty
 * within a frame: a pause as long as the reset would end it. */
static void show(void *user, unsigned line, const uint8_t *codes, uint32_t size)
{
    uint8_t out[16];
    (void)user;
    if (line != LINE)
        return;
    while (size) {
        const uint32_t n = size < 4 ? size : 4;
        uint32_t i;
        lmw_uart(kind, codes, n, out);
        for (i = 0; i < 4 * n; i++) {
            while ((READ_PERI_REG(UART_STATUS) >> 16 & 0xff) > FIFO)
                ;
            WRITE_PERI_REG(UART_FIFO, out[i]);
        }
        codes += n;
        size -= n;
    }
}

static uint32_t millis(void *user)
{
    static uint32_t last, ms, rest;
    const uint32_t now = system_get_time(); /* microseconds; runs over after 71 minutes */
    (void)user;
    rest += now - last;
    last = now;
    ms += rest / 1000;
    rest %= 1000;
    return ms;
}

static void yield(void *user)
{
    (void)user;
    system_soft_wdt_feed();
}

/* Call it from the callback of a UDP connection on port 5568. */
void ICACHE_FLASH_ATTR board_packet(void *connection, char *data, unsigned short size)
{
    (void)connection;
    lml_packet(&live, (const uint8_t *)data, size);
}

/* Call it every millisecond from a timer, and set the time with lmp_set_time once it is known. */
void ICACHE_FLASH_ATTR board_tick(void *unused)
{
    (void)unused;
    lmp_step(&player);
    lml_step(&live);
    gpio16_output_set((uint8)!lmp_lamp(&player)); /* lit when low on most of these boards */
}

void ICACHE_FLASH_ATTR board_start(void)
{
    static const lmp_board board = { read_at, show, millis, yield, NULL };
    kind = lmw_find(BOARD_KIND);
    PIN_FUNC_SELECT(PERIPHS_IO_MUX_GPIO2_U, FUNC_U1TXD_BK);
    WRITE_PERI_REG(UART_CLKDIV, 80000000u / kind->hertz); /* 25 for 3.2 MHz: exact */
    WRITE_PERI_REG(UART_CONF0, UART_6N1_INVERTED);
    lmp_init(&player, &board, memory, sizeof memory, BOARD_LINES);
    lml_init(&live, &player, 0);
    lmp_follow_table(&player);
}
