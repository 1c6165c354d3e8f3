/* Stub, for the compiler only. */
int64_t esp_timer_get_time(void);
