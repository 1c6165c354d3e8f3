/* Stub, for the compiler only. */
typedef enum { SPI_FLASH_RESULT_OK, SPI_FLASH_RESULT_ERR } SpiFlashOpResult;
SpiFlashOpResult spi_flash_read(uint32_t from, uint32_t *to, uint32_t size);
