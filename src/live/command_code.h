/* command_code.h - a command (coach/command.h) as bytes, for a recording, and back.
 *
 *      0   version u8 (COMMAND_CODE_VERSION)
 *      1   kind u8, as in enum command_kind of that version
 *      2   number f64
 *     10   n_targets u8; 0 but for COMMAND_TARGETS
 *     11   focus: name of the metric, a length u8 before it; length 0: none. Absent without targets, as what follows
 *          each target: name of its metric likewise, low f64, high f64, baseline f64, is_change u8
 *
 * Little-endian; numbers bit for bit. Metrics go by their names, which outlive their places in the table.
 * What is not known (version, kind, metric), too short or too long is refused, never guessed.
 * Pure. Memory: none.
 */
#ifndef LIVE_COMMAND_CODE_H
#define LIVE_COMMAND_CODE_H

#include "coach/command.h"

#include <stdint.h>

#define COMMAND_CODE_VERSION 1
#define COMMAND_CODE_MAX 512 /* bytes */

/* Writes the command; returns its length. */
size_t command_code_write(const struct command *command, uint8_t out[COMMAND_CODE_MAX]);

/* False when these bytes are no command that is known here; *out is then not to be used. */
bool command_code_read(const uint8_t *bytes, size_t len, struct command *out);

#endif
