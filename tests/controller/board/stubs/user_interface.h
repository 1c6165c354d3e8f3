/* Stub, for the compiler only. */
uint32_t system_get_time(void);
void system_soft_wdt_feed(void);
void gpio16_output_set(uint8 value);
void board_packet(void *connection, char *data, unsigned short size);
void board_tick(void *unused);
void board_start(void);
