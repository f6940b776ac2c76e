/* desk_elements.h - one packet of a sensor as the panel shows it: a load for each element, as a share of full scale.
 *
 * Pure.   Precondition: the packet fits the profile.
 */
#ifndef APP_DESK_ELEMENTS_H
#define APP_DESK_ELEMENTS_H

#include "link/packet.h"
#include "panel/panel_data.h"
#include "sense/profile.h"

void desk_elements_fill(struct panel_elements *e, const struct sense_profile *p, const struct packet *packet,
                        const struct frame *frame);

#endif
