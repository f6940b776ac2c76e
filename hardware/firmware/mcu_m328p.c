/* mcu_m328p.c - ATmega328P at 16 MHz.
 *
 *      pin                  switches            mat                                  cells
 *      PC0..PC3 (ADC0..3)   zones LH LF RH RF   PC0: the multiplexer's output        amplifiers 1 to 4
 *      PD2..PD5                                 row address, 4 bits, to the decoder
 *      PB0..PB2                                 column address, 3 bits, to the       PB0, PB1: reference up
 *                                               multiplexer                          by 1/4, 2/4 of a step
 *      PD0 RXD, PD1 TXD     to the host         to the host                          to the host
 *
 * Line: the baud rate is F_CPU / 8 / (UBRR + 1) with double speed. At 16 MHz that is 117647 for 115200
 * (+2.1 %: good with a PC's receiver, whose own error is small), 222222 for 230400 (-3.5 %: too much), and
 * exact for 250000, 500000 and 1000000.
 * Clock: timer 1 in CTC at 2 MHz. Its accuracy is the crystal's: a ceramic resonator's 0.5 % would be
 * 0.8 steps/min at a cadence of 165, so the board needs a crystal.
 */
#include "firmware/mcu.h"
#include "firmware/sensor.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <util/atomic.h>
#include <util/delay_basic.h>

#ifndef MCU_BAUD
#define MCU_BAUD 115200
#endif
#ifndef MCU_IS_SWEEPING
#define MCU_IS_SWEEPING 0 /* 1: a mat */
#endif
#ifndef MCU_IS_BURSTING
#define MCU_IS_BURSTING 0 /* 1: cells */
#endif
#if MCU_IS_SWEEPING
#define MCU_ADC_PRESCALE_BITS 4 /* 2^4: 1 MHz, 8 good bits */
#else
#define MCU_ADC_PRESCALE_BITS 7 /* 2^7: 125 kHz, 10 good bits */
#endif

#define UBRR      ((F_CPU + 4UL * MCU_BAUD) / (8UL * MCU_BAUD) - 1)
#define REAL_BAUD (F_CPU / 8 / (UBRR + 1))
#if REAL_BAUD * 1000 > MCU_BAUD * 1025UL || REAL_BAUD * 1000 < MCU_BAUD * 975UL
#error "this baud rate is more than 2.5 % off at this clock"
#endif

#define SWEEP_N 128 /* 16 rows of 8 */
#define BURST_N 16  /* 4 rounds of 4 */

#define HOLD_CLOCKS 2 /* ADC clocks from the start of a conversion until the sample is held: 1.5 */

/* Queues of the interrupts: 256 bytes, so that an index wraps by itself. */
static volatile uint8_t sent[256], heard[64];
static volatile uint8_t send_from, send_to, hear_from, hear_to, n_periods;

/* Sleeps (idle, the mode at reset) until an interrupt, unless is_over by then. No interrupt can come between
 * the question and the sleep: the instruction after sei() is still protected. */
#define SLEEP_UNLESS(is_over)                                                                                \
    do {                                                                                                     \
        cli();                                                                                               \
        if (!(is_over)) {                                                                                    \
            sleep_enable();                                                                                  \
            sei();                                                                                           \
            sleep_cpu();                                                                                     \
            sleep_disable();                                                                                 \
        }                                                                                                    \
        sei();                                                                                               \
    } while (0)

ISR(TIMER1_COMPA_vect)
{
    n_periods++;
}

#if MCU_IS_SWEEPING

static void
address(uint8_t element)
{
    PORTD = (uint8_t) ((PORTD & 0xC3) | (element >> 1 & 0x3C)); /* element / 8, from bit 2 on: one shift */
    PORTB = (uint8_t) ((PORTB & 0xF8) | (element & 0x07));
}

static uint16_t *volatile sweep_to;
static volatile uint8_t sweep_at; /* element under conversion; SWEEP_N: the sweep is over */

/* The converter runs on by itself: element sweep_at + 1 has begun by now, and its sample is held 1.5 us after
 * its beginning. Getting here and storing the reading takes longer than that: in the simulator the ports
 * change 2.4 to 7.5 us after the beginning, so that the next element has at least 7 us to settle. */
ISR(ADC_vect)
{
    uint8_t at = sweep_at;
    uint16_t *to = sweep_to;
    *to = ADC;
    sweep_to = to + 1;
    sweep_at = ++at;
    if (at < SWEEP_N - 1)
        address((uint8_t) (at + 1));
    else if (at == SWEEP_N - 1)
        ADCSRA &= (uint8_t) ~_BV(ADATE); /* the last one is under way */
    else
        address(0);
}

void
mcu_sweep(uint16_t *readings)
{
    sweep_to = readings;
    sweep_at = 0;
    ADCSRA |= _BV(ADIF) | _BV(ADATE) | _BV(ADIE);
    ADCSRA |= _BV(ADSC);
    _delay_loop_1((uint8_t) ((HOLD_CLOCKS << MCU_ADC_PRESCALE_BITS) / 3)); /* 3 clocks a turn */
    address(1);
}

bool
mcu_sweep_is_over(void)
{
    return sweep_at == SWEEP_N;
}

#elif MCU_IS_BURSTING

static uint16_t *volatile burst_to;
static volatile uint8_t burst_at; /* reading under conversion; BURST_N: the burst is over */

/* The converter does not run on by itself: the reference changes before a conversion begins, and has at least
 * 12 us, 1.5 of its clocks, to settle until the input is held. */
static void
convert(uint8_t at)
{
    PORTB = (uint8_t) ((PORTB & 0xFC) | at >> 2);
    ADMUX = _BV(REFS0) | mcu_burst_input(at);
    ADCSRA |= _BV(ADSC);
}

ISR(ADC_vect)
{
    uint8_t at = burst_at;
    uint16_t *to = burst_to;
    *to = ADC;
    burst_to = to + 1;
    burst_at = ++at;
    if (at < BURST_N)
        convert(at);
}

void
mcu_sweep(uint16_t *readings)
{
    burst_to = readings;
    burst_at = 0;
    convert(0);
}

bool
mcu_sweep_is_over(void)
{
    return burst_at == BURST_N;
}

#else

EMPTY_INTERRUPT(ADC_vect) /* wakes mcu_read() */

/* Sleeping keeps the processor quiet for a fine reading. */
uint16_t
mcu_read(uint8_t input)
{
    ADMUX = _BV(REFS0) | input;
    ADCSRA |= _BV(ADSC);
    while (ADCSRA & _BV(ADSC))
        SLEEP_UNLESS(!(ADCSRA & _BV(ADSC)));
    return ADC;
}

#endif

ISR(USART_UDRE_vect)
{
    uint8_t at = send_from;
    if (at == send_to) {
        UCSR0B &= (uint8_t) ~_BV(UDRIE0);
        return;
    }
    UDR0 = sent[at];
    send_from = (uint8_t) (at + 1);
}

ISR(USART_RX_vect)
{
    uint8_t byte = UDR0, to = hear_to, next = (uint8_t) ((to + 1U) % sizeof heard);
    if (next == hear_from)
        return; /* the host says more than it may: its message is lost, it asks again */
    heard[to] = byte;
    hear_to = next;
}

void
mcu_start(void)
{
    DDRD |= 0x3C;
    DDRB |= 0x07;
    DIDR0 = 0x0F; /* no digital input buffers where voltages stand in between */
    ADMUX = _BV(REFS0);
    ADCSRA = _BV(ADEN) | MCU_ADC_PRESCALE_BITS;
    ADCSRA |= _BV(ADSC); /* the first conversion after power-up is longer: not one of ours */
    loop_until_bit_is_clear(ADCSRA, ADSC);
    ADCSRA |= _BV(ADIF) | _BV(ADIE);
    UCSR0A = _BV(U2X0);
    UBRR0 = UBRR;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
    OCR1A = (uint16_t) (sensor_period_us * 2UL - 1);
    TCCR1B = _BV(WGM12) | _BV(CS11);
    TIMSK1 = _BV(OCIE1A);
    sei();
}

uint8_t
mcu_periods(void)
{
    uint8_t n;
    ATOMIC_BLOCK(ATOMIC_FORCEON)
    {
        n = n_periods;
        n_periods = 0;
    }
    return n;
}

void
mcu_rest(void)
{
    SLEEP_UNLESS(n_periods > 0 || hear_from != hear_to);
}

bool
mcu_send(const uint8_t *bytes, uint8_t len)
{
    uint8_t to = send_to;
    if (len > (uint8_t) (send_from - to - 1))
        return false;
    while (len-- > 0)
        sent[to++] = *bytes++;
    send_to = to;
    UCSR0B |= _BV(UDRIE0); /* not atomic, and need not be: at worst the interrupt comes once for nothing */
    return true;
}

bool
mcu_hear(uint8_t *byte)
{
    uint8_t from = hear_from;
    if (from == hear_to)
        return false;
    *byte = heard[from];
    hear_from = (uint8_t) ((from + 1U) % sizeof heard);
    return true;
}
