#include "sense/footswitch.h"

#include <math.h>
#include <string.h>

void
footswitch_reset(const struct sense_profile *p, struct frame_switches *s)
{
    memset(s, 0, sizeof *s);
    s->n_zones = p->n_zones;
    for (int i = 0; i < p->n_zones; i++) {
        s->is_right[i] = p->zone[i].is_right;
        s->zone[i] = p->zone[i].zone;
    }
}

void
footswitch_read(const struct sense_profile *p, const struct packet *packet, struct frame_switches *s,
                struct frame *out)
{
    for (int i = 0; i < p->n_zones; i++) {
        const struct profile_zone *zone = &p->zone[i];
        double counts = packet->channel_counts[i];
        double range = zone->full_counts - zone->offset_counts;
        double load = (counts - zone->offset_counts) / range;
        s->load[i] = load < 0 ? 0 : load > 1 ? 1 : load;
        if (load >= p->on_ratio)
            s->is_down[i] = true;
        else if (load < p->off_ratio)
            s->is_down[i] = false;
        /* A binary switch is at its full scale whenever it is down: that is no saturation. */
        if (zone->full_counts > 1 && counts >= p->saturation_counts)
            out->flags |= FRAME_SATURATED;
    }
    out->force_n = NAN;
    out->cop_fwd_mm = NAN;
    out->cop_right_mm = NAN;
    out->switches = s;
}
