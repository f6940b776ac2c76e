#include "firmware/avr_board.h"

#include <limits.h>
#include <math.h>
#include <string.h>

/* The simulator's headers do not pass our warnings. */
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wconversion"
#pragma GCC diagnostic ignored "-Wsign-conversion"
#pragma GCC diagnostic ignored "-Wstrict-prototypes"
#pragma GCC diagnostic ignored "-Wundef"
#include <avr_adc.h>
#include <avr_extint.h>
#include <avr_ioport.h>
#include <avr_uart.h>
#include <sim_avr.h>
#include <sim_elf.h>
#include <stdlib.h>
#pragma GCC diagnostic pop

#define PORTB_AT     0x25
#define PORTD_AT     0x2B
#define SPL_AT       0x5D
#define ADC_VECTOR   21
#define CLOCK_VECTOR 11     /* timer 1, compare A */
#define PAUSE_CYCLES 2500   /* longer than a conversion and the way to the next: a pause between two bursts */
#define SWEEP_CYCLES 208    /* a conversion of the mat's: 13 clocks of 16 cycles */
#define BYTE_S       100e-6 /* between two bytes of the host: 115200 baud and a little */

static void
on_byte(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct avr_board *b = param;
    (void) irq;
    if (b->n_bytes < sizeof b->bytes)
        b->bytes[b->n_bytes++] = (uint8_t) value;
    else
        b->has_overflown = true;
}

static void
on_conversion(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct avr_board *b = param;
    union {
        avr_adc_mux_t mux;
        uint32_t v;
    } e = { .v = value };
    (void) irq;
    int input = (int) e.mux.src;
    const uint8_t *data = b->avr->data;
    uint16_t stack = (uint16_t) (data[SPL_AT] | data[SPL_AT + 1] << 8);
    if (stack < b->least_stack)
        b->least_stack = stack;
    b->n_conversions++;
    uint64_t since = b->avr->cycle - b->began_at_cycle;
    if (since < PAUSE_CYCLES && since > b->most_conversion_cycles)
        b->most_conversion_cycles = (unsigned) since;
    b->began_at_cycle = b->avr->cycle;
    if (input > 7)
        return;
    b->held_volts =
        b->volts(b->user, avr_board_now_s(b), input, data[PORTD_AT] >> 2 & 15, data[PORTB_AT] & 7);
    b->held_input = input;
    b->held_at_cycle = b->avr->cycle;
}

/* The lowest bit of the column address changes with every element. */
static void
on_address(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct avr_board *b = param;
    uint64_t since = b->avr->cycle - b->held_at_cycle;
    (void) irq;
    (void) value;
    if (since > SWEEP_CYCLES) /* between two sweeps */
        return;
    if (since < b->least_address_cycles)
        b->least_address_cycles = (unsigned) since;
    if (since > b->most_address_cycles)
        b->most_address_cycles = (unsigned) since;
}

/* The part has 1024 steps; the simulator takes whole millivolts and cuts them into 1023: the least that it
 * reads as the part would. */
static uint32_t
simulated_mv(double volts)
{
    double step = fmin(fmax(floor(volts / AVR_BOARD_VOLTS * 1024), 0), 1023);
    return (uint32_t) ceil(step * AVR_BOARD_VOLTS * 1000 / 1023);
}

/* The simulator works the reading out when it is read, from the input's newest volts: they are given to it
 * when the conversion is over, since by the time of the reading the next one may have begun. */
static void
on_converted(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct avr_board *b = param;
    (void) irq;
    if (value != 0)
        avr_raise_irq(avr_io_getirq(b->avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0 + b->held_input),
                      simulated_mv(b->held_volts));
}

static void
on_period(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct avr_board *b = param;
    (void) irq;
    if (value != 0 && b->first_period_s == 0)
        b->first_period_s = avr_board_now_s(b);
}

/* The simulator's own would wait in real time. */
static void
pass_sleep(avr_t *avr, avr_cycle_count_t n_cycles)
{
    (void) avr;
    (void) n_cycles;
}

bool
avr_board_init(struct avr_board *b, const char *elf_path)
{
    elf_firmware_t firmware;
    memset(b, 0, sizeof *b);
    memset(&firmware, 0, sizeof firmware);
    b->least_stack = UINT16_MAX;
    b->least_address_cycles = UINT_MAX;
    if (elf_read_firmware(elf_path, &firmware) != 0)
        return false;
    b->avr = avr_make_mcu_by_name("atmega328p");
    if (b->avr) {
        avr_init(b->avr);
        firmware.frequency = (uint32_t) AVR_BOARD_HZ;
        avr_load_firmware(b->avr, &firmware); /* copies the code */
    }
    for (uint32_t i = 0; i < firmware.symbolcount; i++)
        free(firmware.symbol[i]);
    free(firmware.symbol);
    free(firmware.flash);
    if (!b->avr)
        return false;
    b->avr->log = LOG_NONE;
    b->avr->sleep = pass_sleep;
    b->avr->vcc = b->avr->avcc = b->avr->aref = (uint32_t) (AVR_BOARD_VOLTS * 1000);
    for (uint8_t i = 0; i < 2; i++) /* not used, but it would look at their pins in every cycle */
        avr_extint_set_strict_lvl_trig(b->avr, i, 0);
    uint32_t flags = 0;
    avr_ioctl(b->avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~(uint32_t) (AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(b->avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(b->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_byte, b);
    avr_irq_register_notify(avr_io_getirq(b->avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_OUT_TRIGGER), on_conversion,
                            b);
    avr_irq_register_notify(avr_io_getirq(b->avr, AVR_IOCTL_IOPORT_GETIRQ('B'), IOPORT_IRQ_PIN0), on_address,
                            b);
    avr_irq_register_notify(avr_get_interrupt_irq(b->avr, ADC_VECTOR) + AVR_INT_IRQ_PENDING, on_converted, b);
    avr_irq_register_notify(avr_get_interrupt_irq(b->avr, CLOCK_VECTOR) + AVR_INT_IRQ_PENDING, on_period, b);
    return true;
}

void
avr_board_destroy(struct avr_board *b)
{
    if (b->avr)
        avr_terminate(b->avr);
    b->avr = NULL;
}

double
avr_board_now_s(const struct avr_board *b)
{
    return (double) b->avr->cycle / AVR_BOARD_HZ;
}

bool
avr_board_run(struct avr_board *b, double until_s)
{
    avr_cycle_count_t end = (avr_cycle_count_t) (until_s * AVR_BOARD_HZ);
    while (b->avr->cycle < end) {
        int state = avr_run(b->avr);
        if (state == cpu_Done || state == cpu_Crashed)
            return false;
    }
    return true;
}

bool
avr_board_hear(struct avr_board *b, const uint8_t *bytes, size_t len)
{
    avr_irq_t *line = avr_io_getirq(b->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    for (size_t i = 0; i < len; i++) {
        avr_raise_irq(line, bytes[i]);
        if (!avr_board_run(b, avr_board_now_s(b) + BYTE_S))
            return false;
    }
    return true;
}
