/* Runs an AVR firmware in the simulator's library and writes down every change of the watched registers.
 *
 * avr_runner FIRMWARE.elf MCU HZ STOP_US ADDRESS... < EVENTS
 *
 * ADDRESS: data-space addresses to watch (hexadecimal).  EVENTS, in order of time, one a line:
 *   T_US pin LETTER BIT LEVEL     something outside drives a pin
 *   T_US adc CHANNEL MILLIVOLTS   voltage at a converter input
 *   T_US uart NUMBER TEXT         text arrives at a serial port (a new line follows it)
 * Written to stdout: "CYCLE r ADDRESS VALUE" for each change (and the start), "CYCLE u NUMBER BYTE" for each byte sent,
 * "CYCLE i ADDRESS 7-BIT" for a bus address called (nobody answers), and "CYCLE end STATE" at last.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "simavr/avr_adc.h"
#include "simavr/avr_ioport.h"
#include "simavr/avr_twi.h"
#include "simavr/avr_uart.h"
#include "simavr/sim_avr.h"
#include "simavr/sim_elf.h"

#define MOST 256
#define EVENTS 4096

typedef struct {
    unsigned long long at_us;
    char kind[8];
    char rest[200];
} event_t;

static avr_t *avr;
static event_t events[EVENTS];
static int event_count;
static int bus_calls;

static void sent(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq;
    printf("%llu u %d %u\n", (unsigned long long)avr->cycle, (int)(long)param, value & 0xff);
}

static void called(struct avr_irq_t *irq, uint32_t value, void *param) {
    avr_twi_msg_irq_t message;
    (void)irq;
    (void)param;
    message.u.v = value;
    if ((message.u.twi.msg & TWI_COND_START) && bus_calls < 1000) {
        bus_calls++;
        printf("%llu i 0 %u\n", (unsigned long long)avr->cycle, message.u.twi.addr >> 1);
    }
}

/* Text waits here until the port can take another byte. */
static char waiting[4][1024];
static int waiting_from[4], waiting_to[4], waiting_stopped[4];

static void go(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq;
    (void)value;
    waiting_stopped[(long)param] = 0;
}

static void halt(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq;
    (void)value;
    waiting_stopped[(long)param] = 1;
}

static void feed(void) {
    for (int port = 0; port < 4; port++) {
        avr_irq_t *in = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0' + port), UART_IRQ_INPUT);
        if (in && waiting_from[port] < waiting_to[port] && !waiting_stopped[port]) {
            avr_raise_irq(in, (unsigned char)waiting[port][waiting_from[port]++]);
        }
    }
}

static void happen(const event_t *event) {
    int a = 0, b = 0;
    char letter = 0;
    if (!strcmp(event->kind, "pin") && sscanf(event->rest, " %c %d %d", &letter, &a, &b) == 3) {
        avr_irq_t *irq = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(letter), a);
        if (irq) avr_raise_irq(irq, b);
    } else if (!strcmp(event->kind, "adc") && sscanf(event->rest, "%d %d", &a, &b) == 2) {
        avr_irq_t *irq = avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, a);
        if (irq) avr_raise_irq(irq, b);
    } else if (!strcmp(event->kind, "uart") && sscanf(event->rest, "%d", &a) == 1 && a >= 0 && a < 4) {
        const char *text = strchr(event->rest, ' ');
        text = text ? text + 1 : "";
        waiting_from[a] = 0;
        waiting_to[a] = snprintf(waiting[a], sizeof waiting[a], "%s\n", text);
    }
}

/* Whether an instruction may write to a register: OUT, SBI and CBI, STS and the other ST. */
static int writes(unsigned op) {
    return (op & 0xF800) == 0xB800 || (op & 0xFD00) == 0x9800 || (op & 0xFE00) == 0x9200 || (op & 0xD200) == 0x8200;
}

static void no_nap(avr_t *core, avr_cycle_count_t cycles) {
    (void)core;
    (void)cycles; /* simulated time only */
}

int main(int argc, char **argv) {
    if (argc < 5) return 2;
    elf_firmware_t firmware;
    memset(&firmware, 0, sizeof firmware);
    if (elf_read_firmware(argv[1], &firmware)) return 3;
    avr = avr_make_mcu_by_name(argv[2]);
    if (!avr) return 4;
    avr_init(avr);
    avr->log = LOG_NONE;
    avr->sleep = no_nap;
    avr_load_firmware(avr, &firmware);
    avr->frequency = strtoul(argv[3], NULL, 10);
    avr->vcc = avr->avcc = avr->aref = 5000;
    const unsigned long long stop = strtoull(argv[4], NULL, 10) * (avr->frequency / 1000000ULL);

    int watched[MOST], count = 0;
    unsigned char last[MOST];
    for (int i = 5; i < argc && count < MOST; i++) watched[count++] = (int)strtoul(argv[i], NULL, 16);
    for (int i = 0; i < count; i++) {
        last[i] = avr->data[watched[i]];
        printf("0 r %x %u\n", watched[i], last[i]);
    }
    while (event_count < EVENTS) {
        event_t *event = &events[event_count];
        char line[256];
        int used = 0;
        if (!fgets(line, sizeof line, stdin)) break;
        line[strcspn(line, "\n")] = 0;
        if (sscanf(line, "%llu %7s %n", &event->at_us, event->kind, &used) < 2) continue;
        snprintf(event->rest, sizeof event->rest, "%s", line + used);
        event_count++;
    }
    for (long port = 0; port < 4; port++) {
        avr_irq_t *irq = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0' + port), UART_IRQ_OUTPUT);
        uint32_t flags = 0;
        if (!irq) continue;
        avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0' + port), &flags); /* neither echo nor naps */
        avr_irq_register_notify(irq, sent, (void *)port);
        avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0' + port), UART_IRQ_OUT_XON), go, (void *)port);
        avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0' + port), UART_IRQ_OUT_XOFF), halt, (void *)port);
    }
    avr_irq_t *bus = avr_io_getirq(avr, AVR_IOCTL_TWI_GETIRQ(0), TWI_IRQ_OUTPUT);
    if (bus) avr_irq_register_notify(bus, called, NULL);

    int next = 0, state = cpu_Running;
    unsigned long long fed = 0;
    while (avr->cycle < stop) {
        while (next < event_count && avr->cycle >= events[next].at_us * (avr->frequency / 1000000ULL)) happen(&events[next++]);
        if (avr->cycle - fed > 2000) {
            feed();
            fed = avr->cycle;
        }
        const int look = avr->pc + 1 < avr->flashend && writes(avr->flash[avr->pc] | avr->flash[avr->pc + 1] << 8);
        state = avr_run(avr);
        for (int i = 0; look && i < count; i++) {
            if (avr->data[watched[i]] != last[i]) {
                last[i] = avr->data[watched[i]];
                printf("%llu r %x %u\n", (unsigned long long)avr->cycle, watched[i], last[i]);
            }
        }
        if (state == cpu_Done || state == cpu_Crashed) break;
    }
    printf("%llu end %d\n", (unsigned long long)avr->cycle, state);
    return 0;
}
