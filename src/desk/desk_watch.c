#include "desk/desk_watch.h"

#include "desk/desk_elements.h"
#include "report/check_report.h"

#include <math.h>
#include <string.h>

void
desk_watch_init(struct desk_watch *w, const struct session *session)
{
    memset(w, 0, sizeof *w);
    w->session = session;
    mailbox_init(&w->mailbox, w->slots, sizeof w->slots[0]);
}

/* ---------------------------------------------------------------- reading thread */

/* More than a quiet, empty sensor can show. */
static bool
is_stepped_on(const struct check *c, const struct frame *f)
{
    if (c->is_loaded || c->seconds_empty < DESK_WATCH_EMPTY_S)
        return false;
    if (f->kind == FRAME_KIND_SWITCHES) {
        for (int i = 0; i < f->switches->n_zones; i++)
            if (f->switches->is_down[i] && c->element[i].n_above <= DESK_WATCH_STEP_FRAMES)
                return true;
        return false;
    }
    const double n = (double) c->n_empty, mean = c->force.sum / n, var = c->force.sum_sq / n - mean * mean;
    return var < DESK_WATCH_STILL_N * DESK_WATCH_STILL_N && f->force_n > c->force.first + mean + DESK_WATCH_STEP_N;
}

static void
feed_check(struct desk_watch *w, const struct packet *packet, const struct frame *frame)
{
    if (w->was_calibrating) { /* what it did not see is a hole: it begins anew */
        w->was_calibrating = w->has_begun = false;
        w->before = (struct check){ .n_empty = 0 };
        atomic_store(&w->is_load_asked, false);
    }
    if (!w->has_begun)
        check_init(&w->check, &w->session->pipeline.sense.profile, sense_rate_hz(&w->session->pipeline.sense));
    w->has_begun = true;
    w->n_stepped = is_stepped_on(&w->check, frame) ? w->n_stepped + 1 : 0;
    if (!w->check.is_loaded && (atomic_load(&w->is_load_asked) || w->n_stepped >= DESK_WATCH_STEP_FRAMES)) {
        if (w->n_stepped > 0 && w->before.n_empty > 0)
            check_forget_since(&w->check, &w->before);
        check_begin_loaded(&w->check);
    }
    check_feed(&w->check, packet, frame);
}

static void
feed_calibration(struct desk_watch *w, const struct packet *packet, const struct frame *frame)
{
    int state = DESK_CALIB_ASKED;
    if (atomic_compare_exchange_strong(&w->calib_state, &state, DESK_CALIB_RUNS)) {
        calib_init(&w->calib, &w->session->pipeline.sense.profile, w->what);
        w->calib.is_surely_empty = w->is_surely_empty;
        w->calib_begun = frame->time;
    } else if (state != DESK_CALIB_RUNS)
        return;
    w->was_calibrating = true;
    const double past_s = units_s_from_us(units_dev_since_us(frame->time, w->calib_begun));
    calib_feed(&w->calib, packet, frame);
    w->view.calib_left_s = fmax(w->calib_s - past_s, 0);
    state = DESK_CALIB_RUNS;
    if (past_s >= w->calib_s)
        atomic_compare_exchange_strong(&w->calib_state, &state, DESK_CALIB_DONE);
}

static void
show(struct desk_watch *w, const struct packet *packet, const struct frame *frame)
{
    const struct pipeline *p = &w->session->pipeline;
    desk_elements_fill(&w->view.elements, &p->sense.profile, packet, frame);
    w->view.has_check = w->has_begun && (w->check.is_loaded || w->check.seconds_empty >= DESK_WATCH_EMPTY_S);
    if (w->view.has_check) {
        const struct check_line line = check_report_line(&p->wire.health, &p->sense.health);
        check_judge(&w->check, &line, &w->view.check);
    }
    w->view.is_loaded = w->check.is_loaded;
    if (!w->check.is_loaded && w->n_stepped == 0)
        w->before = w->check;
    mailbox_put(&w->mailbox, &w->view);
}

void
desk_watch_feed(void *context, const struct packet *packet, const struct frame *frame)
{
    struct desk_watch *w = context;
    if (!atomic_load(&w->is_on))
        return;
    const int state = atomic_load(&w->calib_state);
    w->view.calib_left_s = (double) NAN;
    if (state == DESK_CALIB_ASKED || state == DESK_CALIB_RUNS)
        feed_calibration(w, packet, frame);
    else if (state == DESK_CALIB_IDLE)
        feed_check(w, packet, frame);
    const int64_t since_us = units_dev_since_us(frame->time, w->shown);
    if (w->view.elements.n_cols > 0 && since_us >= 0 && since_us < UNITS_US_PER_S / DESK_WATCH_HZ)
        return;
    w->shown = frame->time;
    show(w, packet, frame);
}

/* ---------------------------------------------------------------- main thread */

void
desk_watch_set_on(struct desk_watch *w, bool is_on)
{
    atomic_store(&w->is_on, is_on);
}

void
desk_watch_load(struct desk_watch *w)
{
    atomic_store(&w->is_load_asked, true);
}

bool
desk_watch_take(struct desk_watch *w, struct panel_watch *out)
{
    return mailbox_take(&w->mailbox, out);
}

/* ---------------------------------------------------------------- worker */

void
desk_watch_calibrate(struct desk_watch *w, enum calib_what what, double seconds, bool is_surely_empty)
{
    atomic_store(&w->calib_state, DESK_CALIB_IDLE);
    w->what = what;
    w->calib_s = seconds;
    w->is_surely_empty = is_surely_empty;
    atomic_store(&w->calib_state, DESK_CALIB_ASKED);
}

bool
desk_watch_is_calibrated(const struct desk_watch *w)
{
    return atomic_load(&w->calib_state) == DESK_CALIB_DONE;
}

void
desk_watch_leave_calibration(struct desk_watch *w)
{
    atomic_store(&w->calib_state, DESK_CALIB_IDLE);
}
