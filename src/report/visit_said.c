#include "report/visit_said.h"

#include "base/str.h"
#include "store/names.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LABEL = 20, WIDE = 10, MARKS_SHOWN = 24 };

const char *
visit_said_marks(const struct course_visit *v, char out[VISIT_SAID_MARKS_MAX])
{
    int n = 0;
    char text[32];
    out[0] = '\0';
    for (; n < v->n_mark_times && n < MARKS_SHOWN; n++) {
        const int64_t into_us = v->mark[n].us - v->begin.us;
        const long long s = into_us > 0 ? into_us / UNITS_US_PER_S : 0;
        snprintf(text, sizeof text, "%s%lld:%02lld", n > 0 ? ", " : "", s / 60, s % 60);
        str_append(out, VISIT_SAID_MARKS_MAX, text);
    }
    if (v->n_marks > n) {
        snprintf(text, sizeof text, "%s+%d", n > 0 ? ", " : "", v->n_marks - n);
        str_append(out, VISIT_SAID_MARKS_MAX, text);
    }
    return out;
}

const char *
visit_said_end(const struct catalogue *w, const struct store_visit *v)
{
    return phrase(w, !v->is_finished ? N_("unfinished") : v->is_cut_short ? N_("cut short") : N_("finished"));
}

const char *
visit_said_which(const struct catalogue *w, const struct store_visit *v, char out[PHRASE_MAX])
{
    char id[NUMBER_MAX], number[NUMBER_MAX], plan[256];
    phrase_fill(out, PHRASE_MAX, phrase(w, N_("Visit {1}, {2}.")), phrase_int(id, v->id), visit_said_end(w, v), (char *) NULL);
    if (v->plan[0])
        phrase_sentence(out, PHRASE_MAX, PHRASE(w, plan, N_("Plan {1}, its visit {2}."), v->plan, phrase_int(number, v->course_visit)));
    return out;
}

const char *
visit_said_block(const struct catalogue *w, enum verdict_block kind)
{
    static const char *const names[] = {
        [VERDICT_BLOCK_FREE] = N_("Free running"), [VERDICT_BLOCK_WARM_UP] = N_("Warm-up"),
        [VERDICT_BLOCK_BASELINE] = N_("Baseline, silent"), [VERDICT_BLOCK_COACHED] = N_("Coached"),
        [VERDICT_BLOCK_SILENT] = N_("Silent"), [VERDICT_BLOCK_COOL_DOWN] = N_("Cool-down"),
        [VERDICT_BLOCK_PAUSED] = N_("Paused"), [VERDICT_BLOCK_ENDED] = N_("Ended"),
    };
    return phrase(w, names[kind]);
}

const char *
visit_said_growth(const struct catalogue *w, const struct course_visit *v, char out[PHRASE_MAX])
{
    const struct dose *now = &v->dose, *last = &v->dose_before;
    char a[NUMBER_MAX], b[NUMBER_MAX], c[NUMBER_MAX], d[NUMBER_MAX];
    out[0] = '\0';
    dose_fore_text(last, a);
    dose_fore_text(now, b);
    if (v->dose_grew == DOSE_FORE_GREW)
        return phrase_fill(out, PHRASE_MAX,
                           phrase(w, N_("Mid- and forefoot steps grew from {1} to {2}: calf and Achilles tendon carry more. Give them time.")),
                           a, b, (char *) NULL);
    if (v->dose_grew == DOSE_GREW)
        phrase_fill(out, PHRASE_MAX,
                    phrase(w, N_("The dose grew fast: {1} min after {2}, {3} steps after {4}. Over 30 % in two weeks went with more "
                                 "injuries (Nielsen et al. 2014).")),
                    phrase_number(w, a, now->minutes, 0), phrase_number(w, b, last->minutes, 0), phrase_int(c, now->n_steps),
                    phrase_int(d, last->n_steps), (char *) NULL);
    return out;
}

const char *
visit_said_dose(const struct catalogue *w, const struct course_visit *v, char out[PHRASE_MAX])
{
    char steps[NUMBER_MAX], fore[DOSE_COUNT_MAX], minutes[NUMBER_MAX], more[PHRASE_MAX];
    dose_fore_text(&v->dose, fore);
    phrase_fill(out, PHRASE_MAX,
                phrase_count(w, v->dose.n_steps, NP_("{1} step, {2} on mid- or forefoot, in {3} min of running.",
                                                     "{1} steps, {2} of them on mid- or forefoot, in {3} min of running.")),
                phrase_int(steps, v->dose.n_steps), fore, phrase_number(w, minutes, v->dose.minutes, 1), (char *) NULL);
    phrase_sentence(out, PHRASE_MAX, visit_said_growth(w, v, more));
    return out;
}

const char *
visit_said_pain(const struct catalogue *w, const struct course_visit *v, char out[PHRASE_MAX])
{
    char a[NUMBER_MAX], b[NUMBER_MAX], c[NUMBER_MAX], d[NUMBER_MAX];
    return phrase_fill(out, PHRASE_MAX, phrase(w, N_("before {1}, worst {2}, after {3}; effort {4}")),
                       phrase_number(w, a, v->pain_before, 0), phrase_number(w, b, v->pain_worst, 0),
                       phrase_number(w, c, v->pain_after, 0), phrase_number(w, d, v->effort, 0), (char *) NULL);
}

const char *
visit_said_signs(const struct catalogue *w, const struct tally *t, char out[PHRASE_MAX])
{
    char present[NUMBER_MAX], known[NUMBER_MAX], list[1024] = "", text[512], a[NUMBER_MAX], b[NUMBER_MAX], c[NUMBER_MAX], d[NUMBER_MAX];
    for (int i = 0; i < TALLY_COUNT; i++)
        if (t->sign[i] == TALLY_PRESENT) {
            str_append(list, sizeof list, list[0] ? phrase_in(w, "paper", "; ") : "");
            str_append(list, sizeof list, phrase(w, tally_row((enum tally_sign) i)->label));
        }
    phrase_fill(out, PHRASE_MAX,
                list[0] ? phrase_count(w, t->n_known, NP_("{1} of the {2} sign of overstriding that was looked at: {3}.",
                                                          "{1} of the {2} signs of overstriding that were looked at: {3}."))
                        : phrase_count(w, t->n_known, NP_("{1} of the {2} sign of overstriding that was looked at.",
                                                          "{1} of the {2} signs of overstriding that were looked at.")),
                phrase_int(present, t->n_present), phrase_int(known, t->n_known), list, (char *) NULL);
    if (t->heel_first == TALLY_PRESENT)
        phrase_sentence(out, PHRASE_MAX, phrase(w, N_("Lands on the heel: neutral, not counted.")));
    if (tally_has_braking(t))
        phrase_sentence(out, PHRASE_MAX,
                        PHRASE(w, text, N_("Braking {1} ± {2} BW s, peak {3} ± {4} BW: estimated, for change within this runner, counted nowhere."),
                               phrase_number(w, a, t->braking_impulse_bw_s, 4), phrase_number(w, b, t->braking_impulse_bar, 4),
                               phrase_number(w, c, t->peak_braking_bw, 2), phrase_number(w, d, t->peak_braking_bar, 2)));
    return out;
}

void
visit_said_print_blocks(FILE *f, const struct catalogue *w, const struct course_visit *v)
{
    static const char *const heads[] = { N_("min"), N_("steps"), N_("shown %") };
    int wide[] = { WIDE, WIDE, WIDE };
    char number[NUMBER_MAX];
    if (v->n_blocks == 0)
        return;
    phrase_put(f, LABEL, phrase(w, N_("block")));
    phrase_put_heads(f, w, heads, wide, 3);
    for (int i = 0; i < v->n_blocks; i++) {
        const struct course_block *b = &v->block[i];
        if (b->kind == VERDICT_BLOCK_ENDED)
            continue;
        fprintf(f, "%2d ", i + 1);
        phrase_put(f, LABEL - 3, visit_said_block(w, b->kind));
        phrase_put_number(f, w, wide[0], b->length_s / 60, 1);
        phrase_put(f, -wide[1], phrase_int(number, b->n_steps));
        phrase_put_number(f, w, wide[2], course_shown_pct(b), 0);
        fputc('\n', f);
    }
}

/* Each on a line of its own, below the first. */
static void
print_notes(FILE *f, const struct catalogue *w, const char *notes)
{
    const char *label = phrase(w, N_("notes"));
    for (const char *at = notes; *at; label = "") {
        const int len = (int) strcspn(at, "\n");
        phrase_put(f, LABEL, label);
        fprintf(f, "%.*s\n", len, at);
        at += len + (at[len] == '\n');
    }
}

static void
print_line(FILE *f, const char *label, const char *text)
{
    phrase_put(f, LABEL, label);
    fprintf(f, "%s\n", text);
}

void
visit_said_print(FILE *f, const struct catalogue *w, const struct course_visit *v)
{
    char text[PHRASE_MAX], marks[VISIT_SAID_MARKS_MAX];
    print_line(f, phrase(w, N_("pain 0-10")), visit_said_pain(w, v, text));
    print_line(f, phrase(w, N_("signs")), visit_said_signs(w, &v->tally, text));
    print_line(f, "", phrase(w, TALLY_SENTENCE));
    if (v->notes)
        print_notes(f, w, v->notes);
    if (v->n_marks > 0)
        print_line(f, phrase(w, N_("marks at")), visit_said_marks(v, marks));
}

static void
put_signs(struct json *j, const struct tally *t)
{
    static const char *const states[] = { NULL, "absent", "present" };
    json_open_object(j, "signs");
    json_text(j, "remark", TALLY_SENTENCE);
    json_int(j, "n_present", t->n_present);
    json_int(j, "n_known", t->n_known);
    for (int i = 0; i < TALLY_COUNT; i++)
        json_text(j, tally_row((enum tally_sign) i)->name, states[t->sign[i]]);
    json_text(j, "heel_first_neutral", states[t->heel_first]);
    const double unknown = (double) NAN;
    const bool has = tally_has_braking(t);
    json_open_object(j, "braking_estimated");
    json_number(j, "impulse_bw_s", has ? t->braking_impulse_bw_s : unknown);
    json_number(j, "impulse_95_bw_s", has ? t->braking_impulse_bar : unknown);
    json_number(j, "peak_bw", has ? t->peak_braking_bw : unknown);
    json_number(j, "peak_95_bw", has ? t->peak_braking_bar : unknown);
    json_close(j);
    json_close(j);
}

void
visit_said_json(struct json *j, const struct course_visit *v)
{
    json_open_object(j, "pain");
    json_number(j, "before", v->pain_before);
    json_number(j, "worst", v->pain_worst);
    json_number(j, "after", v->pain_after);
    json_number(j, "effort", v->effort);
    json_close(j);
    put_signs(j, &v->tally);
    json_text(j, "notes", v->notes);
    json_open_array(j, "marks_s");
    for (int i = 0; i < v->n_mark_times; i++)
        json_number(j, NULL, units_s_from_us(v->mark[i].us));
    json_close(j);
}

void
visit_said_json_block(struct json *j, const struct course_visit *v, int i)
{
    const struct course_block *b = &v->block[i];
    json_int(j, "number", i + 1);
    json_text(j, "kind", names_block(b->kind));
    json_number(j, "start_s", units_s_from_us(b->start.us));
    json_number(j, "end_s", units_s_from_us(b->end.us));
    json_number(j, "length_s", b->length_s);
    json_number(j, "planned_s", b->planned_s);
    json_number(j, "belt_speed_m_s", b->belt_speed_m_s);
    json_number(j, "shown_share", b->shown_share);
    json_int(j, "steps", b->n_steps);
    json_int(j, "steps_shown", b->n_shown_steps);
}
