#include "store/names.h"

#include "base/mark.h"
#include "base/str.h"

#include <assert.h>
#include <string.h>

#define COUNT_OF(table) ((int) (sizeof(table) / sizeof((table)[0])))

static const char *const FOOT[] = { NULL, "left", "right" };
static const char *const GAIT[] = { NULL, "off", "standing", "walking", "running" };
static const char *const ZONE[] = { NULL, "rear", "mid", "fore", "border" };
static const char *const BLOCK[] = { "free",   "warm_up",   "baseline", "coached",
                                     "silent", "cool_down", "paused",   "ended" };
static const char *const PAIN_WHEN[] = { "before", "during", "after" };
static const char *const WEIGHT_FROM[] = { NULL, "entered", "standing", "momentum balance" };
static const char *const FLAG[STEP_N_FLAGS] = {
    "first",   "last",     "gap",       "saturated", "edge", "unsteady",
    "bridged", "low_rate", "no_weight", "relative",  "cut",  "side_guess",
    "overlap",
};

static const char *
word_of(const char *const table[], int n, int i)
{
    assert(i >= 0 && i < n);
    return table[i];
}

static int
index_of(const char *const table[], int n, const char *word)
{
    for (int i = 0; word != NULL && i < n; i++)
        if (table[i] != NULL && strcmp(table[i], word) == 0)
            return i;
    return 0;
}

const char *
names_foot(enum step_foot foot)
{
    return word_of(FOOT, COUNT_OF(FOOT), (int) foot);
}

enum step_foot
names_foot_from(const char *word)
{
    return (enum step_foot) index_of(FOOT, COUNT_OF(FOOT), word);
}

const char *
names_gait(enum step_gait gait)
{
    return word_of(GAIT, COUNT_OF(GAIT), (int) gait);
}

enum step_gait
names_gait_from(const char *word)
{
    return (enum step_gait) index_of(GAIT, COUNT_OF(GAIT), word);
}

const char *
names_zone(enum step_zone zone)
{
    return word_of(ZONE, COUNT_OF(ZONE), (int) zone);
}

enum step_zone
names_zone_from(const char *word)
{
    return (enum step_zone) index_of(ZONE, COUNT_OF(ZONE), word);
}

const char *
names_block(enum verdict_block kind)
{
    return word_of(BLOCK, COUNT_OF(BLOCK), (int) kind);
}

enum verdict_block
names_block_from(const char *word)
{
    return (enum verdict_block) index_of(BLOCK, COUNT_OF(BLOCK), word);
}

const char *
names_visit_end(const struct store_visit *v)
{
    return !v->is_finished ? N_("unfinished") : v->is_cut_short ? N_("cut short") : N_("finished");
}

const char *
names_pain_when(enum store_pain_when when)
{
    return word_of(PAIN_WHEN, COUNT_OF(PAIN_WHEN), (int) when);
}

enum store_pain_when
names_pain_when_from(const char *word)
{
    return (enum store_pain_when) index_of(PAIN_WHEN, COUNT_OF(PAIN_WHEN), word);
}

const char *
names_weight_from(enum store_weight_from from)
{
    return word_of(WEIGHT_FROM, COUNT_OF(WEIGHT_FROM), (int) from);
}

enum store_weight_from
names_weight_from_from(const char *word)
{
    return (enum store_weight_from) index_of(WEIGHT_FROM, COUNT_OF(WEIGHT_FROM), word);
}

void
names_flags(uint32_t flags, char out[NAMES_FLAGS_MAX])
{
    out[0] = '\0';
    for (int i = 0; i < STEP_N_FLAGS; i++) {
        if ((flags & (UINT32_C(1) << i)) == 0)
            continue;
        if (out[0] != '\0')
            str_append(out, NAMES_FLAGS_MAX, ";");
        str_append(out, NAMES_FLAGS_MAX, FLAG[i]);
    }
}
