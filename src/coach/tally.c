#include "coach/tally.h"

#include "base/mark.h"
#include "base/str.h"
#include "coach/error_bar.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define MAX_CADENCE_SPM 164.0
#define MIN_AHEAD_SHARE_OF_LEG 0.25
#define MIN_TRANSIENT_SHARE 0.5
#define MIN_LOAD_RATE_BW_S 66.0
#define MIN_HEEL_LAG_MS 40.0
#define MIN_AHEAD_AT_LOAD_SHARE_OF_FOOT 0.5
#define MIN_REAR_SHARE 0.5

#define PRACTICE "common practice, no source"

static const struct tally_row ROWS[TALLY_COUNT] = {
    [TALLY_LOW_CADENCE] = { "low_cadence", N_("slow steps"), "cadence at or below 164 steps/min",
                            "Luedke et al. 2016, Med Sci Sports Exerc 48:1244-1250", false },
    [TALLY_LANDS_AHEAD] = { "lands_ahead", N_("lands far ahead"), "landing more than 25 % of leg length ahead",
                            "ours, no published limit; it goes with the belt speed: tests/VALIDITY.md",
                            false },
    [TALLY_TRANSIENT] = { "transient", N_("first peak in most steps"), "a transient in more than half of the steps", PRACTICE,
                          false },
    [TALLY_LOAD_RATE] = { "load_rate", N_("high loading rate"), "mean loading rate above 66 BW/s",
                          "Davis et al. 2016, Br J Sports Med 50:887-892", false },
    [TALLY_HEEL_LAG] = { "heel_lag", N_("long from heel to whole foot"), "more than 40 ms from heel to forefoot", PRACTICE,
                         false },
    [TALLY_AHEAD_AT_LOAD] = { "ahead_at_load", N_("foot not under the body at the loading peak"),
                              "more than half a foot's length ahead of the centre of mass then", PRACTICE, false },
    [TALLY_KNEE_STRAIGHT] = { "knee_straight", N_("knee near straight at landing"), "seen", PRACTICE, true },
    [TALLY_SHIN_BACK] = { "shin_back", N_("shin leans back at landing"), "seen", PRACTICE, true },
    [TALLY_TRUNK] = { "trunk", N_("trunk upright, or bent at the hip"), "seen", PRACTICE, true },
    [TALLY_LOUD] = { "loud", N_("loud landing"), "heard", PRACTICE, true },
};

struct tally_figures
tally_figures_default(void)
{
    const double unknown = (double) NAN;
    return (struct tally_figures){ unknown, unknown, unknown, unknown, unknown, unknown, unknown, unknown, 0, unknown, unknown, unknown };
}

const struct tally_row *
tally_row(enum tally_sign sign)
{
    assert((int) sign >= 0 && sign < TALLY_COUNT);
    return &ROWS[sign];
}

enum tally_sign
tally_by_name(const char *name)
{
    for (int i = 0; i < TALLY_COUNT; i++)
        if (strcmp(name, ROWS[i].name) == 0)
            return (enum tally_sign) i;
    return TALLY_COUNT;
}

static enum tally_state
state_of(double value, bool is_there)
{
    return isnan(value) ? TALLY_UNKNOWN : is_there ? TALLY_PRESENT : TALLY_ABSENT;
}

void
tally_make(const struct tally_figures *f, const enum tally_state ticks[TALLY_COUNT], struct tally *out)
{
    /* Against a length that is not known nothing is known. */
    const double share_of_leg = f->landing_ahead_mm / f->leg_length_mm;
    const double share_of_foot = f->ahead_at_load_mm / f->foot_length_mm;
    *out = (struct tally){ .n_present = 0 };
    for (int i = 0; i < TALLY_COUNT; i++) {
        out->sign[i] = ticks && ROWS[i].is_ticked ? ticks[i] : TALLY_UNKNOWN;
        out->value[i] = (double) NAN;
    }
    const struct {
        enum tally_sign sign;
        double value;
        bool is_there;
    } measured[] = {
        { TALLY_LOW_CADENCE, f->cadence_spm, f->cadence_spm <= MAX_CADENCE_SPM },
        { TALLY_LANDS_AHEAD, share_of_leg, share_of_leg > MIN_AHEAD_SHARE_OF_LEG },
        { TALLY_TRANSIENT, f->transient_share, f->transient_share > MIN_TRANSIENT_SHARE },
        { TALLY_LOAD_RATE, f->load_rate_bw_s, f->load_rate_bw_s > MIN_LOAD_RATE_BW_S },
        { TALLY_HEEL_LAG, f->heel_to_fore_ms, f->heel_to_fore_ms > MIN_HEEL_LAG_MS },
        { TALLY_AHEAD_AT_LOAD, share_of_foot, share_of_foot > MIN_AHEAD_AT_LOAD_SHARE_OF_FOOT },
    };
    for (size_t i = 0; i < sizeof measured / sizeof *measured; i++) {
        out->sign[measured[i].sign] = state_of(measured[i].value, measured[i].is_there);
        out->value[measured[i].sign] = measured[i].value;
    }
    for (int i = 0; i < TALLY_COUNT; i++) {
        out->n_known += out->sign[i] != TALLY_UNKNOWN;
        out->n_present += out->sign[i] == TALLY_PRESENT;
    }
    out->braking_impulse_bw_s = f->braking_impulse_bw_s;
    out->peak_braking_bw = f->peak_braking_bw;
    out->braking_impulse_bar = error_bar_mean(METRIC_BRAKING_IMPULSE_BW_S, f->n_braking);
    out->peak_braking_bar = error_bar_mean(METRIC_PEAK_BRAKING_BW, f->n_braking);
    out->heel_first = state_of(f->rear_share, f->rear_share > MIN_REAR_SHARE);
}

bool
tally_has_braking(const struct tally *t)
{
    return t->braking_impulse_bar > 0 && t->braking_impulse_bw_s > 0 && t->peak_braking_bw > 0;
}

void
tally_ticks_to_text(const enum tally_state ticks[TALLY_COUNT], char *out, size_t cap)
{
    out[0] = '\0';
    for (int i = 0; i < TALLY_COUNT; i++) {
        if (!ROWS[i].is_ticked || ticks[i] == TALLY_UNKNOWN)
            continue;
        char word[48];
        snprintf(word, sizeof word, "%s%s=%s", out[0] ? " " : "", ROWS[i].name,
                 ticks[i] == TALLY_PRESENT ? "yes" : "no");
        str_append(out, cap, word);
    }
}

void
tally_ticks_from_text(const char *text, enum tally_state ticks[TALLY_COUNT])
{
    for (int i = 0; i < TALLY_COUNT; i++)
        ticks[i] = TALLY_UNKNOWN;
    for (const char *at = text; *at;) {
        const size_t len = strcspn(at, " ");
        char word[48];
        snprintf(word, sizeof word, "%.*s", len < sizeof word ? (int) len : (int) sizeof word - 1, at);
        char *equals = strchr(word, '=');
        if (equals)
            *equals = '\0';
        const enum tally_sign sign = tally_by_name(word);
        if (equals && sign != TALLY_COUNT && ROWS[sign].is_ticked)
            ticks[sign] = strcmp(equals + 1, "yes") == 0  ? TALLY_PRESENT
                          : strcmp(equals + 1, "no") == 0 ? TALLY_ABSENT
                                                          : TALLY_UNKNOWN;
        at += len;
        at += strspn(at, " ");
    }
}
