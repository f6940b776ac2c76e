/* The panel in a run, its worker waiting in the store that this test holds locked: the runner's screen goes on being
 * drawn. Frames are counted while the worker waits, by standing between the program and SDL, and the program and SQLite;
 * no time is judged. And whoever draws never calls the store at all. */
#define _GNU_SOURCE /* RTLD_NEXT */
#include "aid/store_rig.h"
#include "base/monotime.h"
#include "cli/demo.h"
#include "desk/desk.h"
#include "store/store.h"

#include <SDL.h>
#include <criterion/criterion.h>
#include <dlfcn.h>
#include <pthread.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define N_FRAMES    10 /* the worker waits for STORE_BUSY_MS once; then what is said of the visit goes where the visit went */
#define PATIENCE_MS 60000
#define LOOK_MS     20

static struct {
    struct mimic mimic;
    int fd;
    struct store_rig files;
    pthread_t desk;
    atomic_bool is_desk_on, is_over, is_locked, is_hidden;
    atomic_int n_in_store;    /* threads other than this test's that are in SQLite now */
    atomic_int n_frames_busy; /* presented while the store was locked and somebody waited in it */
    atomic_int n_store_calls_of_desk;
    pthread_mutex_t guard;
    char title[120];
    uint32_t window;
} rig;

static _Thread_local bool is_own; /* this thread's calls are the test's */

/* ---------------------------------------------------------------- between the program and its libraries */

static void
find(const char *name, void *out, size_t size)
{
    void *real = dlsym(RTLD_NEXT, name);
    memcpy(out, &real, size);
}

static void
enter_store(void)
{
    if (!is_own)
        atomic_fetch_add(&rig.n_in_store, 1);
    if (!is_own && atomic_load(&rig.is_desk_on) && pthread_equal(pthread_self(), rig.desk))
        atomic_fetch_add(&rig.n_store_calls_of_desk, 1);
}

static void
leave_store(void)
{
    if (!is_own)
        atomic_fetch_sub(&rig.n_in_store, 1);
}

int
sqlite3_step(sqlite3_stmt *st)
{
    int (*real)(sqlite3_stmt *);
    find("sqlite3_step", &real, sizeof real);
    enter_store();
    const int code = real(st);
    leave_store();
    return code;
}

int
sqlite3_exec(sqlite3 *db, const char *sql, int (*row)(void *, int, char **, char **), void *context, char **message)
{
    int (*real)(sqlite3 *, const char *, int (*)(void *, int, char **, char **), void *, char **);
    find("sqlite3_exec", &real, sizeof real);
    enter_store();
    const int code = real(db, sql, row, context, message);
    leave_store();
    return code;
}

static void
count_frame(void)
{
    if (atomic_load(&rig.is_locked) && atomic_load(&rig.is_hidden) && atomic_load(&rig.n_in_store) > 0)
        atomic_fetch_add(&rig.n_frames_busy, 1);
}

void
SDL_RenderPresent(SDL_Renderer *r)
{
    void (*real)(SDL_Renderer *);
    find("SDL_RenderPresent", &real, sizeof real);
    count_frame();
    real(r);
}

int
SDL_UpdateWindowSurfaceRects(SDL_Window *w, const SDL_Rect *rects, int n)
{
    int (*real)(SDL_Window *, const SDL_Rect *, int);
    find("SDL_UpdateWindowSurfaceRects", &real, sizeof real);
    count_frame();
    return real(w, rects, n);
}

void
SDL_SetWindowTitle(SDL_Window *w, const char *title)
{
    void (*real)(SDL_Window *, const char *);
    find("SDL_SetWindowTitle", &real, sizeof real);
    pthread_mutex_lock(&rig.guard);
    snprintf(rig.title, sizeof rig.title, "%s", title);
    rig.window = SDL_GetWindowID(w);
    pthread_mutex_unlock(&rig.guard);
    real(w, title);
}

/* ---------------------------------------------------------------- whoever sits at the panel */

static void
nap(void)
{
    monotime_sleep_us(LOOK_MS * UNITS_US_PER_MS);
}

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

/* False when it did not come. */
static bool
stands_at(const char *where)
{
    for (int ms = 0; ms < PATIENCE_MS; ms += LOOK_MS) {
        pthread_mutex_lock(&rig.guard);
        const bool is_there = strstr(rig.title, where) != NULL;
        pthread_mutex_unlock(&rig.guard);
        if (is_there)
            return true;
        nap();
    }
    fprintf(stderr, "never at '%s', but at '%s'\n", where, rig.title);
    return false;
}

static bool
begin_run(void)
{
    static const struct {
        const char *where;
        SDL_Keycode key;
    } way[] = { { "Runners, ready", SDLK_RETURN }, { "Visit, ready", SDLK_RETURN }, { "Visit, sensor", SDLK_RETURN },
                { "Visit, cautions", SDLK_RETURN }, { "Visit, number", '0' },       { "Visit, number", SDLK_RETURN },
                { "Live, ready", SDLK_F2 } };
    for (size_t i = 0; i < sizeof way / sizeof *way; i++) {
        if (!stands_at(way[i].where))
            return false;
        press(way[i].key);
    }
    return stands_at("Visit, run");
}

/* Ticks are written by the worker, the mark by the writer: both wait for the lock. */
static void
count_while_locked(sqlite3 *db)
{
    cr_assert_eq(sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK, "%s", sqlite3_errmsg(db));
    atomic_store(&rig.is_locked, true);
    for (int i = 0; i < 6; i++)
        press('1');
    press(SDLK_F3);
    cr_assert(stands_at("Live, ready"));
    press('m');
    press(SDLK_TAB); /* the runner's screen alone */
    for (int i = 0; i < 10; i++)
        nap();
    atomic_store(&rig.is_hidden, true);
    for (int ms = 0; ms < PATIENCE_MS && atomic_load(&rig.n_frames_busy) < N_FRAMES; ms += LOOK_MS)
        nap();
    atomic_store(&rig.is_locked, false);
    cr_assert_eq(sqlite3_exec(db, "COMMIT", NULL, NULL, NULL), SQLITE_OK, "%s", sqlite3_errmsg(db));
}

static int
note_row(void *context, int n, char **value, char **name)
{
    (void) n, (void) name;
    *(bool *) context = strcmp(value[0], "0") != 0;
    return 0;
}

/* The page says "run" before the worker has made the visit's rows: locked out then, it would begin no visit at all. The first
 * stored step says that the writer is at work. False when none came. */
static bool
is_kept(sqlite3 *db)
{
    bool is = false;
    for (int ms = 0; ms < PATIENCE_MS && !is; ms += LOOK_MS) {
        sqlite3_exec(db, "SELECT count(*) FROM step", note_row, &is, NULL);
        nap();
    }
    return is;
}

static void *
sit_at_panel(void *context)
{
    sqlite3 *db = NULL;
    (void) context;
    is_own = true;
    if (begin_run() && sqlite3_open(rig.files.path, &db) == SQLITE_OK) {
        sqlite3_busy_timeout(db, PATIENCE_MS);
        if (is_kept(db))
            count_while_locked(db);
    }
    sqlite3_close(db);
    raise(SIGTERM);
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

static void
make_store(void)
{
    struct store s;
    struct store_runner r = store_runner_default("R-014");
    cr_assert_eq(store_rig_make(&rig.files), 0);
    setenv("XDG_CONFIG_HOME", rig.files.folder, 1);
    setenv("XDG_STATE_HOME", rig.files.folder, 1);
    setenv("UNDERFOOT_PROFILES", rig.files.folder, 1); /* no plans: free running */
    setenv("UNDERFOOT_ASSETS", "build/assets", 1);
    setenv("SDL_VIDEODRIVER", "dummy", 1);
    setenv("SDL_AUDIODRIVER", "dummy", 1);
    cr_assert_eq(store_open(&s, rig.files.path, 0), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_runner_save(&s, &r), ERR_OK, "%s", message_english(&s.why));
    store_close(&s);
}

Test(panel_busy, the_runners_screen_is_drawn_while_the_store_is_locked_and_the_worker_waits, .timeout = 500)
{
    char path[MIMIC_PATH_MAX];
    struct message why;
    struct mimic_config sensor = mimic_config_default();
    struct app_config app = app_config_default();
    pthread_t sensor_thread, person;
    make_store();
    pthread_mutex_init(&rig.guard, NULL);
    sensor.should_stop = should_stop;
    cr_assert(demo_board("cells", "binary", &sensor.board, &why), "%s", message_english(&why));
    cr_assert_eq(mimic_open_pty(&rig.fd, path, &why), ERR_OK, "%s", message_english(&why));
    mimic_init(&rig.mimic, &sensor);
    cr_assert_eq(pthread_create(&sensor_thread, NULL, run_sensor, NULL), 0);
    app.path = path;
    app.has_screen = true;
    app.show.place = SHOW_WINDOW;
    app.show.width_px = 1280;
    app.show.height_px = 720;
    app.visit.store_path = rig.files.path;
    app.session.pipeline.coach.baseline_s = 0; /* values are shown at once */
    rig.desk = pthread_self();
    atomic_store(&rig.is_desk_on, true);
    cr_assert_eq(pthread_create(&person, NULL, sit_at_panel, NULL), 0);
    const int code = desk_open(&app, false);
    atomic_store(&rig.is_desk_on, false);
    pthread_join(person, NULL);
    atomic_store(&rig.is_over, true);
    pthread_join(sensor_thread, NULL);
    close(rig.fd);
    cr_assert_eq(code, 0);
    cr_assert_geq(atomic_load(&rig.n_frames_busy), N_FRAMES, "frames while the worker waits");
    cr_assert_eq(atomic_load(&rig.n_store_calls_of_desk), 0, "whoever draws waits for no store");
    store_rig_remove(&rig.files);
}
