/* Stub, for the compiler only. */
#include <stddef.h>
#define SPI2_HOST 1
#define SPI_DMA_CH_AUTO 3
typedef struct spi_device_t *spi_device_handle_t;
typedef struct {
    int mosi_io_num, miso_io_num, sclk_io_num, quadwp_io_num, quadhd_io_num, max_transfer_sz;
} spi_bus_config_t;
typedef struct {
    int clock_speed_hz, spics_io_num, queue_size;
    uint8_t mode;
} spi_device_interface_config_t;
typedef struct {
    size_t length;
    const void *tx_buffer;
} spi_transaction_t;
esp_err_t spi_bus_initialize(int host, const spi_bus_config_t *bus, int dma);
esp_err_t spi_bus_add_device(int host, const spi_device_interface_config_t *d, spi_device_handle_t *h);
esp_err_t spi_device_transmit(spi_device_handle_t h, spi_transaction_t *t);
