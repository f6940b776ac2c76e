/* live_desk.c - the threads of the desk at work together, for the thread sanitizer: the window's, the worker's, reader,
 * recorder, writer, a simulated sensor, and a person who begins a visit, goes through the pages, ends it and leaves.
 * The video driver shows nothing; where the panel stands is read from the window's title, by standing between the program
 * and SDL. At the end the visit's recording is rerun: every verdict that the session put, every step and every block in the
 * store come out of it again, bit for bit (the verdicts are caught at the mailbox: --wrap in the Makefile).
 * Plain main: exit 0 fine, 1 not. */
#define _GNU_SOURCE /* RTLD_NEXT */
#include "aid/same_verdict.h"
#include "aid/store_rig.h"
#include "base/mailbox.h"
#include "base/monotime.h"
#include "care/recordings.h"
#include "cli/demo.h"
#include "desk/desk.h"
#include "store/store.h"
#include "visit/rerun.h"

#include <SDL.h>
#include <dlfcn.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PATIENCE_MS 30000
#define LOOK_MS     20
#define N_STEPS     8 /* in the store, before the run is ended */

static struct {
    struct mimic mimic;
    int fd;
    struct store_rig files;
    atomic_bool is_over, is_lost;
    pthread_mutex_t guard;
    char title[120];
    uint32_t window;
} rig;

void
SDL_SetWindowTitle(SDL_Window *w, const char *title)
{
    void (*real)(SDL_Window *, const char *);
    void *found = dlsym(RTLD_NEXT, "SDL_SetWindowTitle");
    memcpy(&real, &found, sizeof real);
    pthread_mutex_lock(&rig.guard);
    snprintf(rig.title, sizeof rig.title, "%s", title);
    rig.window = SDL_GetWindowID(w);
    pthread_mutex_unlock(&rig.guard);
    real(w, title);
}

/* ---------------------------------------------------------------- what a session puts, and once more */

#define MOST_VERDICTS 65536
#define MOST_STEPS    1024
#define MOST_BLOCKS   64

/* Of the newest session; in the order in which its thread put them. */
struct outcome {
    struct verdict *verdict;
    int n_verdicts, n_steps, n_blocks;
    struct coached_step step[MOST_STEPS]; /* by number, as the store keeps them */
    struct store_block block[MOST_BLOCKS];
};
static struct outcome was, is, *now = &was;

void __real_mailbox_init(struct mailbox *m, void *memory, size_t item_size);
void __wrap_mailbox_init(struct mailbox *m, void *memory, size_t item_size);
void __real_mailbox_put(struct mailbox *m, const void *item);
void __wrap_mailbox_put(struct mailbox *m, const void *item);

void
__wrap_mailbox_init(struct mailbox *m, void *memory, size_t item_size)
{
    if (item_size == sizeof *now->verdict)
        now->n_verdicts = 0;
    __real_mailbox_init(m, memory, item_size);
}

void
__wrap_mailbox_put(struct mailbox *m, const void *item)
{
    if (m->item_size == sizeof *now->verdict && now->n_verdicts++ < MOST_VERDICTS)
        memcpy(&now->verdict[now->n_verdicts - 1], item, m->item_size);
    __real_mailbox_put(m, item);
}

/* As visit/visit.h and the store keep them: the settled one in its live twin's place. */
static void
take_step(void *context, const struct coached_step *step)
{
    struct outcome *o = context;
    if (step->step.number >= MOST_STEPS)
        return;
    struct coached_step *to = &o->step[step->step.number];
    o->n_steps += to->step.number == 0;
    *to = *step;
    to->block = o->n_blocks > 0 ? to->block : -1;
}

static void
take_block(void *context, const struct coach_block *b, struct dev_time at)
{
    struct outcome *o = context;
    if (o->n_blocks > 0)
        o->block[o->n_blocks - 1].end = at;
    if (o->n_blocks < MOST_BLOCKS)
        o->block[o->n_blocks++] = (struct store_block){ .index = b->index, .part = b->plan_index, .kind = b->kind, .start = b->start,
                                                        .planned_s = b->planned_s, .belt_speed_m_s = b->belt_speed_m_s,
                                                        .shown_share = b->shown_share };
}

static bool
take_stored_step(void *context, const struct coached_step *step)
{
    take_step(context, step);
    ((struct outcome *) context)->step[step->step.number % MOST_STEPS].block = step->block;
    return true;
}

static bool
take_stored_block(void *context, const struct store_block *b)
{
    struct outcome *o = context;
    if (o->n_blocks < MOST_BLOCKS)
        o->block[o->n_blocks++] = *b;
    return true;
}

static int
n_unlike(void)
{
    int n = (was.n_verdicts != is.n_verdicts) + (was.n_steps != is.n_steps) + (was.n_blocks != is.n_blocks);
    for (int i = 0; i < was.n_verdicts && i < is.n_verdicts && i < MOST_VERDICTS; i++)
        n += verdict_difference(&was.verdict[i], &is.verdict[i]) != NULL;
    for (int i = 0; i < MOST_STEPS; i++)
        n += !store_rig_same_step(&was.step[i], &is.step[i]);
    for (int i = 0; i < was.n_blocks && i < is.n_blocks; i++) {
        const struct store_block *a = &was.block[i], *b = &is.block[i];
        n += a->index != b->index || a->part != b->part || a->kind != b->kind || a->start.us != b->start.us ||
             (i + 1 < was.n_blocks && a->end.us != b->end.us) || !same_number(a->planned_s, b->planned_s) ||
             !same_number(a->belt_speed_m_s, b->belt_speed_m_s) || !same_number(a->shown_share, b->shown_share);
    }
    return n;
}

/* The reader and then the run finish the session: the end comes once more, with another number and nothing else. */
static void
drop_second_end(struct outcome *o)
{
    struct verdict *last = &o->verdict[o->n_verdicts - 1];
    if (o->n_verdicts < 2 || o->n_verdicts > MOST_VERDICTS || last[-1].block != VERDICT_BLOCK_ENDED)
        return;
    const uint64_t serial = last->serial;
    last->serial = last[-1].serial;
    o->n_verdicts -= verdict_difference(&last[-1], last) == NULL;
    last->serial = serial;
}

/* The visit of the store, and what its recording gives today. */
static bool
comes_out_again(struct store *s)
{
    struct rerun again = { .is_open = false };
    struct rerun_config c = rerun_config_default();
    struct store_visit v;
    char path[STORE_PATH_MAX];
    int64_t n_bytes;
    if (store_visit_get(s, 1, &v) != ERR_OK || recordings_find(s, &v, path, &n_bytes) != ERR_OK ||
        store_steps(s, 1, take_stored_step, &was) != ERR_OK || store_blocks(s, 1, take_stored_block, &was) != ERR_OK)
        return false;
    drop_second_end(&was);
    now = &is;
    c.session.on_step = take_step;
    c.session.on_block = take_block;
    c.session.context = &is;
    const bool is_read = rerun_file(&again, path, &c) == ERR_OK && !recording_has_lost(&again.recording);
    const int n = n_unlike();
    fprintf(stderr, "rerun: %d of %d verdicts, %d of %d steps, %d of %d blocks; %d differ %s\n", is.n_verdicts, was.n_verdicts,
            is.n_steps, was.n_steps, is.n_blocks, was.n_blocks, n, message_english(&again.why));
    rerun_close(&again);
    return is_read && n == 0 && was.n_steps >= N_STEPS && was.n_blocks > 1 && was.n_verdicts > 100 &&
           was.n_verdicts <= MOST_VERDICTS;
}

/* ---------------------------------------------------------------- whoever sits at the panel */

static void
press(SDL_Keycode key)
{
    SDL_Event e = { .type = SDL_KEYDOWN };
    pthread_mutex_lock(&rig.guard);
    e.key.windowID = rig.window;
    pthread_mutex_unlock(&rig.guard);
    e.key.keysym.sym = key;
    SDL_PushEvent(&e);
}

static void
type(const char *sign)
{
    SDL_Event e = { .type = SDL_TEXTINPUT };
    pthread_mutex_lock(&rig.guard);
    e.text.windowID = rig.window;
    pthread_mutex_unlock(&rig.guard);
    snprintf(e.text.text, sizeof e.text.text, "%s", sign);
    SDL_PushEvent(&e);
}

static bool
is_at(const char *where)
{
    pthread_mutex_lock(&rig.guard);
    const bool is_there = strstr(rig.title, where) != NULL;
    pthread_mutex_unlock(&rig.guard);
    return is_there;
}

/* False when it did not come; says what stood there instead. */
static bool
stands_at(const char *where)
{
    for (int ms = 0; ms < PATIENCE_MS; ms += LOOK_MS) {
        if (is_at(where))
            return true;
        monotime_sleep_us(LOOK_MS * UNITS_US_PER_MS);
    }
    pthread_mutex_lock(&rig.guard);
    fprintf(stderr, "never at '%s', but at '%s'\n", where, rig.title);
    pthread_mutex_unlock(&rig.guard);
    return false;
}

struct stop {
    const char *where; /* the title's words before the key */
    SDL_Keycode key;
};

static bool
go(const struct stop *way, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (!stands_at(way[i].where))
            return false;
        press(way[i].key);
    }
    return true;
}

static bool
take_n_steps(void *context, const struct store_visit *v)
{
    *(int64_t *) context = v->n_steps;
    return true;
}

/* Until the store has them: steps before the visit was begun there are nobody's. */
static bool
run_a_while(void)
{
    int64_t n_steps = 0;
    for (int ms = 0; ms < PATIENCE_MS && n_steps < N_STEPS; ms += LOOK_MS) {
        struct store s;
        if (store_open(&s, rig.files.path, STORE_READ_ONLY | STORE_UNCHECKED) == ERR_OK)
            store_visits(&s, 0, take_n_steps, &n_steps);
        store_close(&s);
        monotime_sleep_us(LOOK_MS * UNITS_US_PER_MS);
    }
    if (n_steps < N_STEPS)
        fprintf(stderr, "only %lld steps\n", (long long) n_steps);
    return n_steps >= N_STEPS;
}

static bool
visit(void)
{
    static const struct stop begin[] = {
        { "Runners, ready", SDLK_F5 },    { "Course, ready", SDLK_F4 },   { "Summary, ready", SDLK_F2 },
        { "Visit, ready", SDLK_RETURN },  { "Visit, sensor", SDLK_z },    { "Visit, calibration", SDLK_ESCAPE },
        { "Visit, sensor", SDLK_RETURN }, { "Visit, cautions", SDLK_RETURN },
        { "Visit, number", SDLK_0 },      { "Visit, number", SDLK_RETURN },
    };
    static const struct stop during[] = {
        { "Live, ready", SDLK_t },     { "Live, ready", SDLK_UP },   { "Live, ready", SDLK_m },
        { "Live, ready", SDLK_f },     { "Live, ready", SDLK_v }, { "Live, ready", SDLK_F2 },
        { "Visit, run", SDLK_1 },      { "Visit, run", SDLK_F1 },    { "Runners, ready", SDLK_F3 },
        { "Live, ready", SDLK_n },
    };
    static const struct stop end[] = {
        { "Live, note", SDLK_RETURN },    { "Live, ready", SDLK_ESCAPE },  { "Live, stop", SDLK_y },
        { "Summary, number", SDLK_1 },    { "Summary, number", SDLK_RETURN },
        { "Summary, number", SDLK_2 },    { "Summary, number", SDLK_RETURN },
        { "Summary, ready", SDLK_r },     { "Summary, ready", SDLK_RETURN }, { "Summary, ready", SDLK_F1 },
        { "Runners, ready", SDLK_ESCAPE }, { "Runners, leave", SDLK_y },
    };
    if (!go(begin, sizeof begin / sizeof *begin) || !run_a_while() || !go(during, sizeof during / sizeof *during) ||
        !stands_at("Live, note"))
        return false;
    type("n"); /* the sign of the key that opened the note */
    type("calves");
    return go(end, sizeof end / sizeof *end);
}

static void *
sit_at_panel(void *context)
{
    (void) context;
    if (visit())
        return NULL;
    atomic_store(&rig.is_lost, true);
    raise(SIGTERM); /* else it would wait for ever */
    return NULL;
}

/* ---------------------------------------------------------------- the sensor, and the program */

static bool
should_stop(void *user)
{
    (void) user;
    return atomic_load(&rig.is_over);
}

static void *
run_sensor(void *context)
{
    return mimic_run(&rig.mimic, rig.fd) == ERR_OK ? NULL : context;
}

static bool
make_store(void)
{
    struct store s;
    struct store_runner r = store_runner_default("R-014");
    if (store_rig_make(&rig.files) != 0)
        return false;
    setenv("XDG_CONFIG_HOME", rig.files.folder, 1);
    setenv("UNDERFOOT_PROFILES", rig.files.folder, 1); /* no plans: free running */
    setenv("UNDERFOOT_ASSETS", "build/assets", 1);
    setenv("SDL_VIDEODRIVER", "dummy", 1);
    setenv("SDL_AUDIODRIVER", "dummy", 1);
    const bool is_made = store_open(&s, rig.files.path, 0) == ERR_OK && store_runner_save(&s, &r) == ERR_OK;
    if (!is_made)
        fprintf(stderr, "%s\n", message_english(&s.why));
    store_close(&s);
    return is_made;
}

static bool
take_visit(void *context, const struct store_visit *v)
{
    *(int64_t *) context = v->is_finished ? v->n_steps : -1;
    return true;
}

static bool
take_note(void *context, const struct store_note *n)
{
    *(int *) context += strcmp(n->text, "calves") == 0;
    return true;
}

/* One whole visit with its steps and its note, and a recording that gives them again. */
static bool
is_kept(void)
{
    struct store s;
    int64_t n_steps = -1;
    int n_notes = 0;
    const bool is_read = store_open(&s, rig.files.path, STORE_READ_ONLY) == ERR_OK &&
                         store_visits(&s, 0, take_visit, &n_steps) == ERR_OK && store_notes(&s, 1, take_note, &n_notes) == ERR_OK;
    const bool is_same = is_read && comes_out_again(&s);
    store_close(&s);
    if (!is_read || n_steps < N_STEPS || n_notes != 1)
        fprintf(stderr, "%lld steps and %d notes in the store\n", (long long) n_steps, n_notes);
    return is_same && n_steps >= N_STEPS && n_notes == 1;
}

int
main(void)
{
    char path[MIMIC_PATH_MAX];
    struct message why;
    struct mimic_config sensor = mimic_config_default();
    struct app_config app = app_config_default();
    pthread_t sensor_thread, person;
    pthread_mutex_init(&rig.guard, NULL);
    was.verdict = calloc(MOST_VERDICTS, sizeof *was.verdict);
    is.verdict = calloc(MOST_VERDICTS, sizeof *is.verdict);
    if (!was.verdict || !is.verdict)
        return 1;
    sensor.should_stop = should_stop;
    sensor.pace_ratio = 2;
    if (!make_store() || !demo_board("cells", "binary", &sensor.board, &why) || mimic_open_pty(&rig.fd, path, &why) != ERR_OK)
        return 1;
    mimic_init(&rig.mimic, &sensor);
    if (pthread_create(&sensor_thread, NULL, run_sensor, NULL) != 0)
        return 1;
    app.path = path;
    app.has_screen = true;
    app.show.place = SHOW_WINDOW;
    app.show.width_px = 640;
    app.show.height_px = 480;
    app.visit.store_path = rig.files.path;
    app.session.pipeline.coach.baseline_s = 0; /* values are shown at once */
    if (pthread_create(&person, NULL, sit_at_panel, NULL) != 0)
        return 1;
    int code = desk_open(&app, false);
    pthread_join(person, NULL);
    atomic_store(&rig.is_over, true);
    pthread_join(sensor_thread, NULL);
    close(rig.fd);
    if (atomic_load(&rig.is_lost) || !is_kept())
        code = 1;
    store_rig_remove(&rig.files);
    free(was.verdict);
    free(is.verdict);
    return code;
}
