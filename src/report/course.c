#include "report/course.h"

#include "base/str.h"
#include "report/course_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Everything that is read of one visit. */
struct reading {
    struct course_visit *v;
    struct coached_step *step;
    size_t n, cap;
    bool is_out_of_memory;
};

static bool
keep_step(void *context, const struct coached_step *s)
{
    struct reading *r = context;
    if (r->n == r->cap) {
        const size_t cap = r->cap == 0 ? 1024 : 2 * r->cap;
        struct coached_step *step = realloc(r->step, cap * sizeof *step);
        if (!step) {
            r->is_out_of_memory = true;
            return false;
        }
        r->step = step;
        r->cap = cap;
    }
    r->step[r->n++] = *s;
    return true;
}

static bool
keep_pain(void *context, const struct store_pain *p)
{
    struct course_visit *v = ((struct reading *) context)->v;
    switch (p->when) {
    case STORE_PAIN_BEFORE:
        v->pain_before = p->pain;
        break;
    case STORE_PAIN_DURING:
        v->pain_worst = isnan(v->pain_worst) || p->pain > v->pain_worst ? p->pain : v->pain_worst;
        break;
    case STORE_PAIN_AFTER:
        v->pain_after = isnan(p->pain) ? v->pain_after : p->pain;
        v->effort = isnan(p->effort) ? v->effort : p->effort;
        break;
    }
    return true;
}

static bool
keep_note(void *context, const struct store_note *n)
{
    struct reading *r = context;
    struct course_visit *v = r->v;
    if (strcmp(n->text, "mark") == 0) {
        v->n_marks++;
        if (n->at.us >= 0 && v->n_mark_times < COURSE_MAX_MARKS)
            v->mark[v->n_mark_times++] = n->at;
        return true;
    }
    const size_t have = v->notes ? strlen(v->notes) : 0, len = strlen(n->text);
    char *notes = realloc(v->notes, have + len + 2);
    if (!notes) {
        r->is_out_of_memory = true;
        return false;
    }
    v->notes = notes;
    if (have > 0)
        notes[have] = '\n';
    memcpy(notes + have + (have > 0), n->text, len + 1);
    return true;
}

/* A piece that was left open ends with the last step in it. */
static void
close_pieces(struct reading *r)
{
    for (int i = 0; i < r->v->n_pieces; i++) {
        struct store_block *b = &r->v->piece[i].row;
        if (b->end.us >= b->start.us)
            continue;
        b->end = b->start;
        for (size_t k = 0; k < r->n; k++)
            if (r->step[k].block == b->index && r->step[k].step.toe_off.us > b->end.us)
                b->end = r->step[k].step.toe_off;
    }
}

static enum err
read_visit(struct store *s, struct course *c, struct course_visit *v)
{
    struct reading r = { .v = v };
    v->pain_before = v->pain_worst = v->pain_after = v->effort = (double) NAN;
    enum err err = measurement_steps(s, &v->measurement, keep_step, &r);
    if (err == ERR_OK && r.is_out_of_memory)
        err = ERR_MEMORY;
    if (err == ERR_OK && v->visit.target_set_id != 0)
        err = store_target_set_get(s, v->visit.target_set_id, v->visit.runner_id, &v->targets);
    if (err == ERR_OK)
        err = pieces_read(s, &v->visit, &v->targets, &v->piece, &v->n_pieces);
    if (err == ERR_OK)
        err = store_pains(s, v->visit.id, keep_pain, &r);
    if (err == ERR_OK)
        err = store_notes(s, v->visit.id, keep_note, &r);
    if (err == ERR_OK && r.is_out_of_memory)
        err = ERR_MEMORY;
    const struct course_steps steps = { r.step, r.n };
    if (err == ERR_OK) {
        close_pieces(&r);
        err = course_join(v, &steps);
    }
    if (err == ERR_OK)
        course_figures(v, &steps, c);
    free(r.step);
    return err;
}

/* Which visits belong to the course. */
struct choosing {
    struct course *c;
    const char *plan;    /* NULL: the newest that has one */
    int64_t newest_id;   /* of a visit with a plan */
    int64_t until_id;    /* later ones do not count; 0: all */
    int n_all;
    bool is_counting;
};

static bool
choose(void *context, const struct store_visit *v)
{
    struct choosing *k = context;
    if (k->until_id != 0 && v->id > k->until_id)
        return true;
    if (!k->is_counting) {
        if (k->c->plan[0] == '\0' || strcmp(v->plan, k->c->plan) == 0)
            k->c->visit[k->c->n_visits++].visit = *v;
        else
            k->c->n_others++;
        return true;
    }
    k->n_all++;
    if (!k->plan && v->plan[0] && v->id > k->newest_id) {
        k->newest_id = v->id;
        str_copy(k->c->plan, sizeof k->c->plan, v->plan);
    }
    return true;
}

static int
by_id(const void *a, const void *b)
{
    const int64_t x = ((const struct course_visit *) a)->visit.id, y = ((const struct course_visit *) b)->visit.id;
    return (x > y) - (x < y);
}

static enum err
no_visits(struct store *s, const struct course *c)
{
    if (c->plan[0])
        message_tell(&s->why, MESSAGE_COURSE_HAS_NONE_BY_PLAN, c->runner.code, c->plan, message_path(s->path));
    else
        message_tell(&s->why, MESSAGE_COURSE_HAS_NO_VISITS, c->runner.code, message_path(s->path));
    return ERR_GONE;
}

/* c->runner is filled in. */
static enum err
load(struct store *s, struct course *c, struct choosing *k)
{
    if (k->plan)
        str_copy(c->plan, sizeof c->plan, k->plan);
    k->is_counting = true;
    enum err err = store_visits(s, c->runner.id, choose, k);
    if (err == ERR_OK && k->n_all == 0)
        return no_visits(s, c);
    if (err == ERR_OK)
        c->visit = calloc((size_t) k->n_all, sizeof *c->visit);
    if (err == ERR_OK && !c->visit)
        err = ERR_MEMORY;
    k->is_counting = false;
    if (err == ERR_OK)
        err = store_visits(s, c->runner.id, choose, k);
    if (err == ERR_OK && c->n_visits == 0)
        err = no_visits(s, c);
    if (err == ERR_OK)
        qsort(c->visit, (size_t) c->n_visits, sizeof *c->visit, by_id);
    if (err == ERR_OK)
        err = course_choose_measurements(s, c, k->until_id);
    for (int i = 0; i < c->n_visits && err == ERR_OK; i++)
        err = read_visit(s, c, &c->visit[i]);
    if (err == ERR_MEMORY)
        message_tell(&s->why, MESSAGE_COURSE_NO_MEMORY, c->runner.code);
    if (err == ERR_OK) {
        course_compare(c);
        course_leave_out(c);
    }
    return err;
}

enum err
course_of_runner(struct store *s, const char *code, const char *plan, struct course *out)
{
    memset(out, 0, sizeof *out);
    struct choosing k = { .c = out, .plan = plan };
    enum err err = store_runner_get(s, code, &out->runner);
    if (err == ERR_OK)
        err = load(s, out, &k);
    if (err != ERR_OK)
        course_destroy(out);
    return err;
}

enum err
course_of_visit(struct store *s, int64_t visit_id, struct course *out)
{
    struct store_visit v;
    memset(out, 0, sizeof *out);
    struct choosing k = { .c = out, .until_id = visit_id };
    enum err err = store_visit_get(s, visit_id, &v);
    if (err == ERR_OK)
        err = store_runner_get(s, v.runner_code, &out->runner);
    k.plan = "";
    if (err == ERR_OK)
        err = load(s, out, &k);
    if (err != ERR_OK)
        course_destroy(out);
    return err;
}

void
course_destroy(struct course *c)
{
    for (int i = 0; i < c->n_visits; i++) {
        free(c->visit[i].piece);
        free(c->visit[i].block);
        free(c->visit[i].notes);
    }
    free(c->visit);
    c->visit = NULL;
    c->n_visits = 0;
}
