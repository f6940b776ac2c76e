/* calib_parts.h - inside sense/ only: what the kinds of calibration share. */
#ifndef SETUP_CALIB_PARTS_H
#define SETUP_CALIB_PARTS_H

#include "setup/calib.h"

/* Elements, cells or zones. */
int calib_n_elements(const struct sense_profile *p);

/* Spread of the force while it was fed, N. */
double calib_force_sd(const struct calib *c);

/* ERR_FORMAT, with text in why. */
enum err calib_refuse(char why[ERR_WHY_MAX], const char *text);

/* calib_zero.c */
enum err calib_zero(const struct calib *c, struct sense_profile *out, struct calib_entry *entry, char why[ERR_WHY_MAX]);

#endif
