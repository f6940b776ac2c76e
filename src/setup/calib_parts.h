/* calib_parts.h - inside setup/ only: what the kinds of calibration share.
 *
 * calib_sums.c   what was fed, summed
 * calib_zero.c   the zero
 * calib.c        mass, running, equalising; which of them
 */
#ifndef SETUP_CALIB_PARTS_H
#define SETUP_CALIB_PARTS_H

#include "base/message.h"
#include "setup/calib.h"

/* Elements, cells or zones. */
int calib_n_elements(const struct sense_profile *p);

/* Mean of the force while it was fed, and its spread, N. */
double calib_force_mean(const struct calib *c);
double calib_force_sd(const struct calib *c);

/* ERR_FORMAT, with text in why. */
enum err calib_refuse(struct message *why, enum message_code code);

/* calib_zero.c */
enum err calib_zero(const struct calib *c, struct sense_profile *out, struct calib_entry *entry, struct message *why);

#endif
