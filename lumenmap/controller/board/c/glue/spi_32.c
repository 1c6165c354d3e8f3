/* Example, not run on hardware here: the player on the ESP32 family, pixels by SPI and DMA.
 *
 * Written against the vendor's SDK (version 5) from its published reference; the compiler saw stub
 * headers only. Try it with one pixel first, and with a fuse.
 *
 * Flash: a data partition "shows" in the partition table, with the year's table in its first 64 KB
 * and the images behind it, IMAGE_ROOM apart; your tool chain's own flash tool writes them there.
 */
#include "board.h"
#include "live.h"
#include "player.h"
#include "wire.h"

#include <string.h>

#include "driver/gpio.h"
#include "driver/spi_master.h"
#include "esp_partition.h"
#include "esp_timer.h"
#include "freertos/FreeRTOS.h"
#include "freertos/task.h"
#include "lwip/sockets.h"

enum { DATA_PIN = 23, CLOCK_PIN = 18, STATUS_PIN = 2, LINE = 0 };
enum { IMAGE_AT = 0x10000, IMAGE_ROOM = 0x80000, LEAD = 4, ROOM = 512 };

static lmp player;
static lml live;
static uint8_t memory[BOARD_MEMORY];
static DMA_ATTR uint8_t pattern[LEAD + 4 * BOARD_LONGEST * BOARD_CHANNELS + ROOM];
static const lmw_kind *kind;
static const esp_partition_t *shows;
static spi_device_handle_t spi;

static int read_at(void *user, uint32_t image, uint32_t offset, void *to, uint32_t size)
{
    const uint32_t base = image == LMP_TABLE ? 0 : IMAGE_AT + image * IMAGE_ROOM;
    (void)user;
    if (offset > IMAGE_ROOM || size > IMAGE_ROOM - offset)
        return 1;
    return esp_partition_read(shows, base + offset, to, size) != ESP_OK;
}

/* A zero octet first, the codes' bits, then zeros for the reset: the line is low before and after. */
static void show(void *user, unsigned line, const uint8_t *codes, uint32_t size)
{
    spi_transaction_t t;
    uint32_t n;
    (void)user;
    if (line != LINE)
        return;
    if (size > BOARD_LONGEST * BOARD_CHANNELS)
        size = BOARD_LONGEST * BOARD_CHANNELS; /* black, before any image has said how long it is */
    memset(pattern, 0, sizeof pattern);
    if (kind->one) {
        lmw_spi(kind, codes, size, pattern + LEAD);
        n = LEAD + 4 * size + lmw_reset_octets(kind);
    } else {
        n = lmw_two_wire(codes, size / 3, pattern);
    }
    memset(&t, 0, sizeof t);
    t.length = 8 * n;
    t.tx_buffer = pattern;
    spi_device_transmit(spi, &t);
}

static uint32_t millis(void *user)
{
    (void)user;
    return (uint32_t)(esp_timer_get_time() / 1000);
}

static void yield(void *user)
{
    (void)user;
    vTaskDelay(1); /* with a tick of 1 ms */
}

static void start_spi(void)
{
    spi_bus_config_t bus;
    spi_device_interface_config_t device;
    memset(&bus, 0, sizeof bus);
    bus.mosi_io_num = DATA_PIN;
    bus.sclk_io_num = kind->one ? -1 : CLOCK_PIN; /* one-wire kinds have no clock line */
    bus.miso_io_num = bus.quadwp_io_num = bus.quadhd_io_num = -1;
    bus.max_transfer_sz = (int)sizeof pattern;
    memset(&device, 0, sizeof device);
    device.clock_speed_hz = (int)kind->hertz;
    device.spics_io_num = -1;
    device.queue_size = 1;
    ESP_ERROR_CHECK(spi_bus_initialize(SPI2_HOST, &bus, SPI_DMA_CH_AUTO));
    ESP_ERROR_CHECK(spi_bus_add_device(SPI2_HOST, &device, &spi));
}

static int open_socket(void)
{
    struct sockaddr_in at;
    const int s = socket(AF_INET, SOCK_DGRAM, 0);
    memset(&at, 0, sizeof at);
    at.sin_family = AF_INET;
    at.sin_port = htons(LML_PORT);
    if (s >= 0 && bind(s, (struct sockaddr *)&at, sizeof at) == 0)
        return s;
    return -1;
}

/* A task of the player's own; start it once the network is up, or without one. Set the time with
 * lmp_set_time from the callback of your network time client. */
void board_task(void *unused)
{
    static const lmp_board board = { read_at, show, millis, yield, NULL };
    static uint8_t packet[LML_PACKET];
    int s;
    (void)unused;
    kind = lmw_find(BOARD_KIND);
    shows = esp_partition_find_first(ESP_PARTITION_TYPE_DATA, ESP_PARTITION_SUBTYPE_ANY, "shows");
    start_spi();
    gpio_set_direction(STATUS_PIN, GPIO_MODE_OUTPUT);
    lmp_init(&player, &board, memory, sizeof memory, BOARD_LINES);
    lml_init(&live, &player, 0);
    lmp_follow_table(&player);
    s = open_socket();
    for (;;) {
        int n;
        lmp_step(&player);
        while (s >= 0 && (n = recv(s, packet, sizeof packet, MSG_DONTWAIT)) > 0)
            lml_packet(&live, packet, (uint32_t)n);
        lml_step(&live);
        gpio_set_level(STATUS_PIN, lmp_lamp(&player));
    }
}
