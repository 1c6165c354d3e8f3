/* Stub, for the compiler only. */
#include <stddef.h>
#include <stdint.h>
typedef uint8_t uint8;
#define ICACHE_FLASH_ATTR
