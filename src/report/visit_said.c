#include "report/visit_said.h"

#include "base/str.h"
#include "report/number.h"
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

void
visit_said_print_blocks(FILE *f, const struct course_visit *v)
{
    if (v->n_blocks == 0)
        return;
    fprintf(f, "%-*s%*s%*s%*s\n", LABEL, "block", WIDE, "min", WIDE, "steps", WIDE, "shown %");
    for (int i = 0; i < v->n_blocks; i++) {
        const struct course_block *b = &v->block[i];
        if (b->kind == VERDICT_BLOCK_ENDED)
            continue;
        fprintf(f, "%2d %-*s", i + 1, LABEL - 3, names_block(b->kind));
        number_print(f, WIDE, b->length_s / 60, 1);
        fprintf(f, "%*d", WIDE, b->n_steps);
        number_print(f, WIDE, course_shown_pct(b), 0);
        fputc('\n', f);
    }
}

/* Each on a line of its own, below the first. */
static void
print_notes(FILE *f, const char *notes)
{
    const char *label = "notes";
    for (const char *at = notes; *at; label = "") {
        const int len = (int) strcspn(at, "\n");
        fprintf(f, "%-*s%.*s\n", LABEL, label, len, at);
        at += len + (at[len] == '\n');
    }
}

void
visit_said_print(FILE *f, const struct course_visit *v)
{
    char text[720], marks[VISIT_SAID_MARKS_MAX];
    fprintf(f, "%-*sbefore ", LABEL, "pain 0-10");
    number_print(f, 0, v->pain_before, 0);
    fputs(", worst ", f);
    number_print(f, 0, v->pain_worst, 0);
    fputs(", after ", f);
    number_print(f, 0, v->pain_after, 0);
    fputs("; effort ", f);
    number_print(f, 0, v->effort, 0);
    tally_text(&v->tally, text, sizeof text);
    fprintf(f, "\n%-*s%s\n%-*s%s\n", LABEL, "signs", text, LABEL, "", TALLY_SENTENCE);
    if (v->notes)
        print_notes(f, v->notes);
    if (v->n_marks > 0)
        fprintf(f, "%-*s%s\n", LABEL, "marks at", visit_said_marks(v, marks));
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
