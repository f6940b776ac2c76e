/* tally.h - which signs of overstriding are there: measured ones, and ones that a person sees and ticks.
 *
 * In:  figures of a visit or a block (NAN: not known), ticks.   Out: of each sign whether it is there; counts.
 * A tally, no score and no diagnosis: TALLY_SENTENCE goes wherever it is shown. Heel-first landing is given
 * apart, as neutral: most runners land so (93.7 % of 1,991: PMC4801105), it only raises the odds.
 *
 * Braking is given apart too, with its error bar, and is never judged: 0.27 BW, above which novice women were chosen for
 * retraining (Napier 2018: facts R), was measured with a plate, between people.
 *
 * Thresholds, each in tally_row():
 *      cadence <= 164 steps/min      the lower cut of Luedke LE et al. 2016, Med Sci Sports Exerc 48:1244-1250
 *      loading rate > 66 BW/s        Davis IS et al. 2016, Br J Sports Med 50:887-892; absolute values hang on filter and
 *                                    method (Abolins V et al. 2019), so it is a hint
 *      lands far ahead               ours: of 11 recorded runners it calls one to two at 2.5 m/s, but nearly all at 3.5 and all
 *                                    at 4.5 m/s (tests/VALIDITY.md): below 3 m/s it says something of the runner, above
 *                                    that it mostly says how fast the belt is
 *      the others                    common practice, no source
 * Pure.
 */
#ifndef COACH_TALLY_H
#define COACH_TALLY_H

#include "base/mark.h"
#include "base/metric.h"

#include <stdbool.h>
#include <stddef.h>

#define TALLY_SENTENCE                                                                                        \
    N_("A tally of signs, not a score and no diagnosis: what it means for this runner is for the clinician to say.")

enum tally_sign {
    TALLY_LOW_CADENCE = 0,
    TALLY_LANDS_AHEAD,
    TALLY_TRANSIENT,
    TALLY_LOAD_RATE,
    TALLY_HEEL_LAG,
    TALLY_AHEAD_AT_LOAD,
    TALLY_KNEE_STRAIGHT, /* ticked, from here on */
    TALLY_SHIN_BACK,
    TALLY_TRUNK,
    TALLY_LOUD,
    TALLY_COUNT
};

enum tally_state {
    TALLY_UNKNOWN = 0, /* not measured, not looked at */
    TALLY_ABSENT,
    TALLY_PRESENT,
};

struct tally_figures {
    double cadence_spm, landing_ahead_mm, transient_share, load_rate_bw_s, heel_to_fore_ms, ahead_at_load_mm;
    double braking_impulse_bw_s, peak_braking_bw;
    int n_braking;                        /* steps that these two are means of */
    double rear_share;                    /* of landings on the heel; NAN: not known */
    double leg_length_mm, foot_length_mm; /* NAN: not entered */
};

struct tally_row {
    const char *name;   /* in files: low_cadence ... */
    const char *label;  /* for people */
    const char *rule;   /* the threshold in words */
    const char *source; /* "common practice, no source" where there is none */
    bool is_ticked;     /* by a person; else measured */
};

struct tally {
    enum tally_state sign[TALLY_COUNT];
    double value[TALLY_COUNT]; /* of a measured sign, NAN else */
    int n_present, n_known;    /* of TALLY_COUNT */
    enum tally_state heel_first; /* neutral, counted nowhere */
    double braking_impulse_bw_s, peak_braking_bw; /* no sign either: no border holds for an estimate. NAN: not known */
    double braking_impulse_bar, peak_braking_bar; /* half of the 95 % interval (error_bar.h) */
};

struct tally_figures tally_figures_default(void); /* all unknown */

const struct tally_row *tally_row(enum tally_sign sign);
enum tally_sign tally_by_name(const char *name); /* TALLY_COUNT when there is none */

/* Whether there is braking to tell. */
bool tally_has_braking(const struct tally *t);

/* ticks: of the ticked signs, by sign; measured ones in it are not looked at. NULL: none looked at. */
void tally_make(const struct tally_figures *f, const enum tally_state ticks[TALLY_COUNT], struct tally *out);

/* Ticks as words for the store, "knee_straight=yes loud=no", and back; words it does not know are passed over. */
void tally_ticks_to_text(const enum tally_state ticks[TALLY_COUNT], char *out, size_t cap);
void tally_ticks_from_text(const char *text, enum tally_state ticks[TALLY_COUNT]);

#endif
