/* avr_board.h - a built firmware in a simulated ATmega328P: volts into its converter, bytes from its line.
 *
 * Time is the processor's own: 16 million cycles are a second. Nothing here waits or reads a clock.
 * Of the mat's two chips, the row decoder and the column multiplexer, the pins that address them are read
 * when a conversion begins: the converter's sample is held then, give or take two of its clocks.
 */
#ifndef FIRMWARE_AVR_BOARD_H
#define FIRMWARE_AVR_BOARD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define AVR_BOARD_HZ    16000000.0
#define AVR_BOARD_VOLTS 5.0
#define AVR_BOARD_BYTES 65536

struct avr_t;

struct avr_board {
    struct avr_t *avr;
    /* Volts at an input when a conversion begins; row and col as addressed then. Cells: col is the
     * reference's lift, quarters of a step. */
    double (*volts)(void *user, double t_s, int input, int row, int col);
    void *user;
    uint8_t bytes[AVR_BOARD_BYTES]; /* from the line, since they were last taken */
    size_t n_bytes;
    bool has_overflown;
    double held_volts; /* of the conversion under way */
    int held_input;
    uint64_t held_at_cycle;
    /* Mat: from the beginning of a conversion to the next element's address, processor cycles. */
    unsigned least_address_cycles, most_address_cycles;
    uint64_t n_conversions, began_at_cycle;
    unsigned most_conversion_cycles; /* from one beginning to the next, within a burst */
    double first_period_s; /* when the board's own clock had counted one sampling period; 0: not yet */
    uint16_t least_stack;  /* lowest stack pointer that was seen at a conversion */
};

/* Loads an ELF file. False when it can't be read. */
bool avr_board_init(struct avr_board *b, const char *elf_path);
void avr_board_destroy(struct avr_board *b);

double avr_board_now_s(const struct avr_board *b);

/* Runs until that time. False when the processor crashed or stopped. */
bool avr_board_run(struct avr_board *b, double until_s);

/* Bytes of the host, one after the other at the line's speed. */
bool avr_board_hear(struct avr_board *b, const uint8_t *bytes, size_t len);

#endif
