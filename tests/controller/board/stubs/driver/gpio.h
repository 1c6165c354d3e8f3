/* Stub, for the compiler only: what glue/spi_32.c uses of the vendor's SDK. */
#include <stdint.h>
typedef int esp_err_t;
#define ESP_OK 0
#define ESP_ERROR_CHECK(call) (void)(call)
#define DMA_ATTR __attribute__((aligned(4)))
#define GPIO_MODE_OUTPUT 2
esp_err_t gpio_set_direction(int pin, int mode);
esp_err_t gpio_set_level(int pin, uint32_t level);
