/* What a bare emulated machine gives: files of the host, and a count of instructions. */
#ifndef MACHINE_H
#define MACHINE_H

#include <stdint.h>

int machine_open(const char *name, int mode); /* 1 read, 5 write; octets as they are */
uint32_t machine_read(int file, void *to, uint32_t size);
void machine_write(int file, const void *from, uint32_t size);
uint32_t machine_instructions(void);
void machine_end(int error);

int main(void);
void machine_start(void);

#endif
