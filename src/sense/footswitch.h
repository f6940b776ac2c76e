/* footswitch.h - switches or pressure elements in the shoe: which zone of which foot is down.
 *
 * How: a binary zone is down when it is not 0. An analog one goes down at on_ratio of its full reading
 *      and up below off_ratio; in between it stays as it was, so that a slowly rising load, or noise on
 *      it, is one contact and not several. Loads are 0..1 of full scale and say nothing in newton:
 *      resistive elements are good to 5-25 % and only order loads (facts M).
 *
 * Memory: the caller's struct frame_switches, which keeps the state between frames.  Pure.
 */
#ifndef SENSE_FOOTSWITCH_H
#define SENSE_FOOTSWITCH_H

#include "sense/frame.h"
#include "sense/profile.h"
#include "wire/packet.h"

/* Sets feet and zones from the profile, all of them up. */
void footswitch_reset(const struct sense_profile *p, struct frame_switches *s);

/* Fills s, and of out: switches, force and centre of pressure (NAN); adds flags. Precondition: as many
 * values as zones. */
void footswitch_read(const struct sense_profile *p, const struct packet *packet, struct frame_switches *s,
                     struct frame *out);

#endif
