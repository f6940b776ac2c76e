/* desk_elements.h - one packet of a sensor as the panel shows it: a load for each element, as a share of full scale.
 *
 * Pure.   Precondition: the packet fits the profile.
 */
#ifndef DESK_DESK_ELEMENTS_H
#define DESK_DESK_ELEMENTS_H

#include "panel/panel_data.h"
#include "sense/profile.h"
#include "wire/packet.h"

void desk_elements_fill(struct panel_elements *e, const struct sense_profile *p, const struct packet *packet,
                        const struct frame *frame);

#endif
