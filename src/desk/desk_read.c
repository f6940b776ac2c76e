#include "desk/desk_read.h"

#include "base/places.h"
#include "base/str.h"
#include "base/utf8.h"
#include "care/next_visit.h"
#include "report/course.h"
#include "paper/local_time.h"
#include "report/visit_said.h"
#include "report/visit_sensor.h"
#include "runner/words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double UNKNOWN = (double) NAN;

static void
from_row(const struct store_runner *r, struct panel_runner *out)
{
    memset(out, 0, sizeof *out);
    out->id = r->id;
    str_copy(out->code, sizeof out->code, r->code);
    out->body_mass_kg = r->body_mass_kg;
    out->leg_length_mm = r->leg_length_mm;
    out->foot_length_mm = r->foot_length_mm;
    out->pain_limit = r->pain_limit;
    str_copy(out->shoe, sizeof out->shoe, r->shoe_note);
    str_copy(out->display, sizeof out->display, r->display);
}

void
desk_read_to_row(const struct panel_runner *from, struct store_runner *to)
{
    *to = store_runner_default(from->code);
    to->id = from->id;
    to->body_mass_kg = from->body_mass_kg;
    to->leg_length_mm = from->leg_length_mm;
    to->foot_length_mm = from->foot_length_mm;
    to->pain_limit = from->pain_limit;
    str_copy(to->shoe_note, sizeof to->shoe_note, from->shoe);
    str_copy(to->display, sizeof to->display, from->display);
}

static bool
take_runner(void *context, const struct store_runner_row *row)
{
    struct panel_runners *out = context;
    struct panel_runner *r = &out->runner[out->n++];
    from_row(&row->runner, r);
    r->n_visits = row->n_visits;
    if (row->last_visit_id != 0) {
        char when[LOCAL_TIME_MAX];
        str_copy(r->last, sizeof r->last, local_time_short(when, row->last_started_utc_ms, row->last_zone_offset_min));
        r->last[strcspn(r->last, " ")] = '\0';
    }
    return out->n < PANEL_MAX_RUNNERS;
}

/* Where the runner of that code stands; -1: not among those that are found, or gone. */
static enum err
find_place(struct store *s, const char *code, const struct store_runners_query *query, int *at)
{
    struct store_runner r;
    *at = -1;
    enum err err = store_runner_get(s, code, &r);
    if (err == ERR_OK)
        err = store_runners_place(s, query, r.id, at);
    return err == ERR_GONE ? ERR_OK : err;
}

static enum err
read_page(struct store *s, const struct store_runners_query *query, struct panel_runners *out)
{
    out->n = 0;
    out->offset = query->offset;
    return store_runners_page(s, query, take_runner, out, &out->total);
}

static enum err
count_all(struct store *s, struct panel_runners *out)
{
    const struct store_runners_query all = { .limit = 0 };
    return store_runners_page(s, &all, take_runner, out, &out->n_all);
}

enum err
desk_read_runners(struct store *s, const struct panel_request *q, struct panel_runners *out)
{
    struct store_runners_query query = { .limit = PANEL_MAX_RUNNERS, .offset = q->number };
    enum err err = ERR_OK;
    str_copy(query.search, sizeof query.search, q->text);
    str_copy(out->search, sizeof out->search, q->text);
    str_copy(out->finding, sizeof out->finding, q->runner.code);
    words_languages(NULL, out->languages);
    out->at = -1;
    if (q->runner.code[0])
        err = find_place(s, q->runner.code, &query, &out->at);
    if (out->at >= 0)
        query.offset = out->at > PANEL_MAX_RUNNERS / 2 ? out->at - PANEL_MAX_RUNNERS / 2 : 0;
    if (err == ERR_OK)
        err = read_page(s, &query, out);
    if (err == ERR_OK && out->n == 0 && out->total > 0) { /* it became shorter meanwhile: its end */
        query.offset = out->total > PANEL_MAX_RUNNERS ? out->total - PANEL_MAX_RUNNERS : 0;
        err = read_page(s, &query, out);
    }
    out->n_all = out->total;
    return err == ERR_OK && q->text[0] ? count_all(s, out) : err;
}

/* ---------------------------------------------------------------- one runner's visits */

static void
fill_figure(const struct course_visit *v, int m, struct panel_figure *f)
{
    const struct course_band *b = &v->band[m];
    *f = (struct panel_figure){ .baseline = v->baseline[m].n > 0 ? v->baseline[m].mean : UNKNOWN,
                                .baseline_sd = v->baseline[m].sd,
                                .held = v->held[m].n > 0 ? v->held[m].mean : UNKNOWN,
                                .held_sd = v->held[m].sd,
                                .low = b->has_target ? b->low : UNKNOWN,
                                .high = b->has_target ? b->high : UNKNOWN,
                                .shown_pct = b->has_target ? b->shown_pct : UNKNOWN,
                                .withheld_pct = b->has_target ? b->withheld_pct : UNKNOWN,
                                .change = v->held_from_first[m].by,
                                .is_real = v->held_from_first[m].is_real,
                                .from_last = v->held_from_last[m].by,
                                .is_last_real = v->held_from_last[m].is_real,
                                .is_other_speed = v->held_from_first[m].is_other_speed,
                                .is_last_other_speed = v->held_from_last[m].is_other_speed };
}

static void
fill_blocks(const struct course_visit *v, struct panel_visit *out)
{
    out->leads = v->leads;
    for (int i = 0; i < v->n_blocks; i++) {
        const struct course_block *b = &v->block[i];
        const struct course_figure *f = &b->figure[v->leads];
        if (b->kind == VERDICT_BLOCK_ENDED || b->kind == VERDICT_BLOCK_PAUSED)
            continue;
        if (out->n_blocks == PANEL_MAX_BLOCKS) {
            out->n_more_blocks++;
            continue;
        }
        out->block[out->n_blocks++] = (struct panel_block){ .kind = b->kind,
                                                            .minutes = b->length_s / 60,
                                                            .speed_m_s = b->belt_speed_m_s,
                                                            .mean = f->n > 0 ? f->mean : UNKNOWN,
                                                            .sd = f->n > 1 ? f->sd : UNKNOWN,
                                                            .shown_pct = b->band[v->leads].shown_pct,
                                                            .withheld_pct = b->band[v->leads].withheld_pct };
    }
}

static void
fill_visit(const struct course_visit *v, const struct catalogue *w, struct panel_visit *out)
{
    char when[LOCAL_TIME_MAX], said[PHRASE_MAX];
    memset(out, 0, sizeof *out);
    out->id = v->visit.id;
    str_copy(out->when, sizeof out->when,
             local_time_short(when, v->visit.started_utc_ms, v->visit.zone_offset_min));
    str_copy(out->plan, sizeof out->plan, v->visit.plan);
    out->course_visit = v->visit.course_visit;
    out->is_finished = v->visit.is_finished;
    out->is_cut_short = v->visit.is_cut_short;
    out->minutes = v->dose.minutes;
    out->n_steps = v->dose.n_steps;
    out->n_fore_least = v->dose.n_fore_least;
    out->n_fore_most = v->dose.n_fore_most;
    out->pain_before = v->pain_before;
    out->pain_worst = v->pain_worst;
    out->pain_after = v->pain_after;
    out->effort = v->effort;
    for (int m = 0; m < METRIC_COUNT; m++)
        fill_figure(v, m, &out->figure[m]);
    fill_blocks(v, out);
    out->tally = v->tally;
    str_copy(out->ticks, sizeof out->ticks, v->visit.ticks);
    utf8_show(out->dose_note, sizeof out->dose_note, visit_said_growth(w, v, said));
    utf8_show(out->sensor, sizeof out->sensor, visit_sensor_text(w, &v->visit, said));
    /* Longer ones are on the page to print: the last letters say that there is more. */
    utf8_show(out->notes, sizeof out->notes, v->notes ? v->notes : "");
    visit_said_marks(v, out->marks);
}

/* A full window, where there are so many visits. */
static void
fill_window(const struct course *c, int n_newer, const struct catalogue *w, struct panel_case *out)
{
    const int most = c->n_visits > PANEL_MAX_VISITS ? c->n_visits - PANEL_MAX_VISITS : 0;
    out->n_newer_visits = n_newer < most ? n_newer : most;
    out->n_older_visits = most - out->n_newer_visits;
    out->n_visits = 0;
    for (int i = out->n_older_visits; i < c->n_visits - out->n_newer_visits; i++)
        fill_visit(&c->visit[i], w, &out->visit[out->n_visits++]);
}

static void
fill_visits(const struct course *c, const struct catalogue *w, struct panel_case *out)
{
    enum metric metric[METRIC_COUNT];
    const int n = course_metrics(c, metric);
    fill_window(c, 0, w, out);
    char visits[COURSE_VISITS_TEXT_MAX];
    for (int i = 0; i < n && out->n_metrics < PANEL_MAX_METRICS; i++) {
        str_copy(out->left_out[out->n_metrics], sizeof out->left_out[0], course_other_definitions(c, metric[i], visits));
        out->metric[out->n_metrics++] = metric[i];
    }
    memcpy(out->mdc, c->mdc, sizeof out->mdc);
}

/* ---------------------------------------------------------------- plans */

struct plan_list {
    struct panel_case *out;
    struct store *store;
    struct plan_file *file; /* scratch */
    double usual_speed_m_s;
};

/* Shown with what is wrong in it, without the folder; nothing else of it is valid. */
static void
take_wrong(struct panel_plan *p, const struct plan_file *file, const char *path, bool is_own, const struct message *why)
{
    const char *slash = strrchr(path, '/');
    const size_t folder = slash ? (size_t) (slash - path) + 1 : 0;
    *p = (struct panel_plan){ .is_own = is_own, .why = *why };
    str_copy(p->id, sizeof p->id, file->id);
    for (int i = 0; i < why->n_parts; i++) {
        struct message_part *part = &p->why.part[i];
        if ((part->kind == MESSAGE_PLACE || part->kind == MESSAGE_PATH) && !part->is_cut &&
            strncmp(p->why.text + part->text_at, path, folder) == 0)
            part->text_at += (int) folder;
    }
}

static bool
take_plan(void *context, const char *name, const char *path, bool is_own)
{
    struct plan_list *l = context;
    struct panel_case *out = l->out;
    struct message why;
    struct next_visit next;
    (void) name;
    if (out->n_plans == PANEL_MAX_PLANS) {
        out->n_more_plans++;
        return true;
    }
    if (plan_file_load(l->file, path, &why) != ERR_OK) {
        take_wrong(&out->plan[out->n_plans++], l->file, path, is_own, &why);
        return true;
    }
    if (next_visit_find(l->store, out->runner.id, l->file, &next) != ERR_OK)
        return true;
    struct panel_plan *p = &out->plan[out->n_plans++];
    str_copy(p->id, sizeof p->id, l->file->id);
    str_copy(p->name, sizeof p->name, l->file->name);
    str_copy(p->source, sizeof p->source, l->file->source);
    p->is_own = is_own;
    p->visit = next.visit;
    p->n_visits = l->file->n_visits;
    p->is_repeat = next.is_repeat;
    const int visit = next.visit > 0 ? next.visit : l->file->n_visits;
    p->coached_min = plan_file_coached_min(l->file, visit);
    p->shown_share = plan_file_shown_share(l->file, visit);
    plan_file_visit_plan(l->file, visit, l->usual_speed_m_s, &p->plan);
    p->rule = l->file->rule;
    return true;
}

static int
compare_plans(const void *a, const void *b)
{
    return strcmp(((const struct panel_plan *) a)->id, ((const struct panel_plan *) b)->id);
}

static enum err
fill_plans(struct store *s, struct panel_case *out)
{
    struct next_visit next;
    enum err err = next_visit_find(s, out->runner.id, NULL, &next);
    if (err != ERR_OK)
        return err;
    out->usual_speed_m_s = next.usual_speed_m_s;
    out->targets.n = next.n_targets;
    out->n_put_off = next.n_put_off;
    out->targets.focus = next.focus;
    memcpy(out->targets.target, next.target, sizeof out->targets.target);
    struct plan_list list = { out, s, malloc(sizeof *list.file), next.usual_speed_m_s };
    if (!list.file)
        return ERR_MEMORY;
    places_list("plans", take_plan, &list);
    free(list.file);
    qsort(out->plan, (size_t) out->n_plans, sizeof *out->plan, compare_plans);
    return ERR_OK;
}

/* The last visit's plan while its course goes on; else our own; else none. */
static void
propose_plan(struct panel_case *out)
{
    const char *last = out->n_visits > 0 ? out->visit[out->n_visits - 1].plan : "";
    out->plan_now = -1;
    for (int i = 0; i < out->n_plans; i++)
        if (strcmp(out->plan[i].id, last) == 0 && out->plan[i].visit > 0)
            out->plan_now = i;
    for (int i = 0; i < out->n_plans && out->plan_now < 0; i++)
        if (out->n_visits == 0 && message_is_none(&out->plan[i].why) && str_begins_with(out->plan[i].id, "underfoot"))
            out->plan_now = i;
}

/* The spread of each target's metric, from the newest baseline that has one. */
static void
fill_spread(struct panel_case *out)
{
    for (int k = 0; k < VERDICT_MAX_BARS; k++)
        out->spread[k] = UNKNOWN;
    for (int i = 0; i < out->n_visits; i++)
        for (int k = 0; k < out->targets.n; k++) {
            const double sd = out->visit[i].figure[out->targets.target[k].metric].baseline_sd;
            if (!isnan(sd))
                out->spread[k] = sd;
        }
}

/* What is proposed comes from the newest visits, whichever are shown. */
static enum err
read_case(struct store *s, const char *code, int n_newer, const struct catalogue *w, struct panel_case *out)
{
    struct store_runner runner;
    struct course course = { .n_visits = 0 };
    memset(out, 0, sizeof *out);
    out->plan_now = -1;
    for (int m = 0; m < METRIC_COUNT; m++)
        out->mdc[m] = UNKNOWN;
    enum err err = store_runner_get(s, code, &runner);
    if (err != ERR_OK)
        return err;
    from_row(&runner, &out->runner);
    err = course_of_runner(s, code, "", &course); /* whatever the plan: the last visit is the last one */
    if (err == ERR_OK)
        fill_visits(&course, w, out);
    else if (err != ERR_GONE)
        return err;
    err = fill_plans(s, out);
    propose_plan(out);
    fill_spread(out);
    if (n_newer > 0)
        fill_window(&course, n_newer, w, out);
    course_destroy(&course);
    return err;
}

enum err
desk_read_case(struct store *s, const char *code, const struct catalogue *w, struct panel_case *out)
{
    return read_case(s, code, 0, w, out);
}

enum err
desk_read_older(struct store *s, const char *code, int n_newer, const struct catalogue *w, struct panel_case *out)
{
    const enum err err = read_case(s, code, n_newer > 0 ? n_newer : 0, w, out);
    out->is_turned = true;
    return err;
}
