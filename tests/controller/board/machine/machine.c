/* Start-up and semihosting for two machines of the emulator: mps2-an385 (Cortex-M3) and virt
 * (RISC-V, 32 bits). Both run with -icount shift=0, where an instruction takes 1 ns. */
#include "machine.h"

extern uint8_t bss_start[], bss_end[];

static int call(int what, const void *with)
{
#if defined __arm__
    register int r0 __asm__("r0") = what;
    register const void *r1 __asm__("r1") = with;
    __asm__ volatile("bkpt 0xab" : "+r"(r0) : "r"(r1) : "memory");
    return r0;
#else
    register int a0 __asm__("a0") = what;
    register const void *a1 __asm__("a1") = with;
    __asm__ volatile(".option push\n.option norvc\n.balign 16\nslli zero, zero, 0x1f\nebreak\n"
                     "srai zero, zero, 7\n.option pop"
                     : "+r"(a0)
                     : "r"(a1)
                     : "memory");
    return a0;
#endif
}

int machine_open(const char *name, int mode)
{
    uint32_t with[3], n = 0;
    while (name[n])
        n++;
    with[0] = (uint32_t)(uintptr_t)name;
    with[1] = (uint32_t)mode;
    with[2] = n;
    return call(0x01, with);
}

uint32_t machine_read(int file, void *to, uint32_t size)
{
    uint32_t with[3];
    with[0] = (uint32_t)file;
    with[1] = (uint32_t)(uintptr_t)to;
    with[2] = size;
    return size - (uint32_t)call(0x06, with);
}

void machine_write(int file, const void *from, uint32_t size)
{
    uint32_t with[3];
    with[0] = (uint32_t)file;
    with[1] = (uint32_t)(uintptr_t)from;
    with[2] = size;
    call(0x05, with);
}

void machine_end(int error)
{
    uint32_t with[2];
    with[0] = 0x20026; /* ADP_Stopped_ApplicationExit */
    with[1] = (uint32_t)error;
    call(0x20, with); /* SYS_EXIT_EXTENDED */
    for (;;)
        ;
}

#if defined __arm__

/* The system timer counts down at the machine's 25 MHz: 40 instructions each. */
static volatile uint32_t *const systick = (volatile uint32_t *)0xe000e010;

uint32_t machine_instructions(void)
{
    static uint32_t high, last;
    const uint32_t at = 0xffffff - systick[2];
    if (at < last)
        high += 1u << 24;
    last = at;
    return 40 * (high + at);
}

void machine_start(void)
{
    uint8_t *p;
    for (p = bss_start; p < bss_end; p++)
        *p = 0;
    systick[1] = 0xffffff;
    systick[2] = 0;
    systick[0] = 5;
    machine_end(main());
}

__asm__(".section .first, \"a\"\n.word stack_top\n.word machine_start + 1\n.skip 56\n.text");

#else

uint32_t machine_instructions(void)
{
    uint32_t n;
    __asm__ volatile("csrr %0, minstret" : "=r"(n));
    return n;
}

__attribute__((noinline, used)) static void begin(void)
{
    uint8_t *p;
    for (p = bss_start; p < bss_end; p++)
        *p = 0;
    machine_end(main());
}

__attribute__((section(".first"), naked, used)) void machine_start(void)
{
    __asm__ volatile("la sp, stack_top\nj begin");
}

#endif
