/* profile_parts.h - inside sense/ only: what profile.c and profile_hello.c share. */
#ifndef SENSE_PROFILE_PARTS_H
#define SENSE_PROFILE_PARTS_H

#include "sense/profile.h"

/* Everything unknown; gains of elements 1. */
void profile_clear(struct sense_profile *p);

/* What neither file nor board gave, once kind and saturation are known. */
void profile_fill_defaults(struct sense_profile *p);

#endif
