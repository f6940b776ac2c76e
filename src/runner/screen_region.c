/* screen_region.c - which regions of the picture have changed: each is drawn when the hash of what it shows has. */
#include <string.h>

#include "runner/screen_parts.h"

uint64_t
screen_hash(uint64_t h, const void *data, size_t len)
{
    const unsigned char *byte = data;
    h ^= UINT64_C(14695981039346656037);
    for (; len >= 8; len -= 8, byte += 8) {
        uint64_t word;
        memcpy(&word, byte, 8);
        h = (h ^ word) * UINT64_C(1099511628211);
        h ^= h >> 29;
    }
    for (size_t i = 0; i < len; i++)
        h = (h ^ byte[i]) * UINT64_C(1099511628211);
    return h == 0 ? 1 : h;
}

bool
screen_begin(struct screen *s, int region, struct paint_rect r, uint64_t hash)
{
    if (s->drawn[region] == hash)
        return false;
    s->drawn[region] = hash;
    paint_set_clip(&s->canvas->picture, r);
    canvas_dirty(s->canvas, r);
    return true;
}

void
screen_clear(struct screen *s, struct paint_rect r)
{
    if (!s->is_ground_fresh)
        paint_fill(&s->canvas->picture, r, s->theme.ground, 1.0);
}
