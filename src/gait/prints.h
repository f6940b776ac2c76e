/* prints.h - the mat's pictures of two contacts: the one under way fills one print, the other is the last contact's.
 *
 * In:  frames with an image, and whether a foot is down.   Out: the COP of the foot alone in the sample; the last
 *      contact's print to read when its step is measured.
 * Other sensors have no images: then both prints stay empty.
 * Memory: the struct.  Pure.
 */
#ifndef GAIT_PRINTS_H
#define GAIT_PRINTS_H

#include "gait/footprint.h"
#include "gait/trace.h"

struct prints {
    struct footprint print[2];
    int now;                    /* which one fills */
    struct footprint_idle idle; /* the present flight's */
};

void prints_init(struct prints *p);

/* Both are forgotten: the data broke. */
void prints_reset(struct prints *p);

/* The contact is over: its print is now the last one's, and a flight begins. */
void prints_turn(struct prints *p);

/* One foot came down before the other had left: the print that fills holds parts of both, the next one too. */
void prints_part(struct prints *p);

/* The images of the contacts are gone: neither print can be read, nor that of a contact under way. */
void prints_lose(struct prints *p, bool is_up);

/* Takes in an image. is_up: no foot is down; is_loaded: a foot shows. The image's own centre of pressure goes into
 * the sample before the whole mat's: a seam that passes elsewhere is not the foot. */
void prints_feed(struct prints *p, const struct frame *f, bool is_up, bool is_loaded, struct trace_sample *s);

/* The last contact's. */
const struct footprint *prints_last(const struct prints *p);

#endif
