/* overwrite.h - one rule for every file that a command is told to write: what is there already stays, unless
 * --force is given.
 *
 * Asked before anything is begun, so that a visit is not run for a picture that can't be kept.
 * What is no plain file (a terminal, /dev/null) holds nothing that could be lost, and may be written to.
 */
#ifndef CLI_OVERWRITE_H
#define CLI_OVERWRITE_H

#include "base/options.h"

/* The row --force for a command's table. */
struct option_row overwrite_row(bool *is_forced);

/* True after one line on stderr when path may not be written: it is there already and is_forced is not set, it is a
 * folder, or its folder is not there or can't be written to. NULL is no path and fine. */
bool overwrite_refuses(const char *path, bool is_forced);

#endif
