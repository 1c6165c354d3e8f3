/* Stub, for the compiler only: what glue/uart_8266.c uses of the vendor's SDK. */
#include <stdint.h>
#define READ_PERI_REG(at) (*(volatile uint32_t *)(uintptr_t)(at))
#define WRITE_PERI_REG(at, value) (*(volatile uint32_t *)(uintptr_t)(at)) = (uint32_t)(value)
#define PERIPHS_IO_MUX_GPIO2_U 0x60000838u
#define FUNC_U1TXD_BK 2
#define PIN_FUNC_SELECT(pin, function) WRITE_PERI_REG(pin, (function) << 4)
