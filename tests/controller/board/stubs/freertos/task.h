/* Stub, for the compiler only. */
void vTaskDelay(uint32_t ticks);
void board_task(void *unused);
