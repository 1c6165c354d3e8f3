/* An image kept inside the program: how it is declared, kept in flash memory, and read.
 *
 *   #define LUMENMAP_ARRAY show_image
 *   #include "lumenmap_array.h"
 *
 * Before that, LUMENMAP_IN_FLASH may be defined as your tool chain wants it. Without, it keeps the
 * array out of RAM on AVR (read it with memcpy_P) and on the Xtensa LX106 (read whole, aligned
 * words of four octets only); elsewhere constants are in flash anyway.
 */
#include <stdint.h>

#ifndef LUMENMAP_IN_FLASH
#if defined __AVR__
#define LUMENMAP_IN_FLASH __attribute__((__progmem__))
#elif defined __xtensa__
#define LUMENMAP_IN_FLASH __attribute__((section(".irom.text.lumenmap"), aligned(4)))
#else
#define LUMENMAP_IN_FLASH
#endif
#endif

#define LUMENMAP_JOIN(a, b) a##b
#define LUMENMAP_SIZE(name) LUMENMAP_JOIN(name, _size)

#ifdef LUMENMAP_ARRAY
#ifdef __cplusplus
extern "C" {
#endif
extern const uint32_t LUMENMAP_SIZE(LUMENMAP_ARRAY);
extern const uint8_t LUMENMAP_ARRAY[];
#ifdef __cplusplus
}
#endif
#undef LUMENMAP_ARRAY
#endif
