/* Nothing is allocated once a session runs: the C library's allocator is wrapped and counted over a minute of
 * running, for each sensor kind and wire. Under a sanitizer, which brings its own allocator, this is skipped. */
#include "cli/demo.h"
#include "cli/mimic.h"
#include "live/session.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define HAS_OWN_ALLOCATOR 1
#else
#define HAS_OWN_ALLOCATOR 0
#endif

static atomic_bool is_counting;
static atomic_int n_calls;

#if !HAS_OWN_ALLOCATOR
extern void *__libc_malloc(size_t n);
extern void *__libc_calloc(size_t n, size_t size);
extern void *__libc_realloc(void *p, size_t n);

static void
count(void)
{
    if (atomic_load(&is_counting))
        atomic_fetch_add(&n_calls, 1);
}

void *
malloc(size_t n)
{
    count();
    return __libc_malloc(n);
}

void *
calloc(size_t n, size_t size)
{
    count();
    return __libc_calloc(n, size);
}

void *
realloc(void *p, size_t n)
{
    count();
    return __libc_realloc(p, n);
}
#endif

static int n_steps;

static void
take(void *context, const struct coached_step *step)
{
    (void) context;
    (void) step;
    n_steps++;
}

static void
run_a_minute(const char *kind, const char *wire)
{
    struct mimic *m = calloc(1, sizeof *m);
    struct session *s = calloc(1, sizeof *s);
    struct verdict *v = calloc(1, sizeof *v);
    struct mimic_config c = mimic_config_default();
    struct message why;
    cr_assert(demo_board(kind, wire, &c.board, &why), "%s", message_english(&why));
    c.seconds = 60;
    mimic_init(m, &c);
    struct session_config config = { .pipeline = pipeline_config_default(), .on_step = take };
    config.pipeline.coach.baseline_s = 10;
    session_init(s, &config);
    n_steps = 0;
    atomic_store(&n_calls, 0);
    atomic_store(&is_counting, true);
    const uint8_t *bytes;
    for (int n; (n = mimic_step(m, &bytes)) >= 0;) {
        const struct host_time now = { units_us_from_s(m->board.t_s) };
        if (n > 0)
            session_feed(s, bytes, (size_t) n, now);
        session_tick(s, now);
        session_take_verdict(s, v);
    }
    session_finish(s);
    atomic_store(&is_counting, false);
    cr_assert_geq(n_steps, 200, "%s %s: %d records: nothing ran", kind, wire, n_steps);
    cr_assert_eq(atomic_load(&n_calls), 0, "%s %s: %d allocations", kind, wire, atomic_load(&n_calls));
    free(v);
    free(s);
    free(m);
}

Test(allocation, the_counter_counts)
{
    if (HAS_OWN_ALLOCATOR) {
        fprintf(stderr, "skipped: the sanitizer has an allocator of its own\n");
        return;
    }
    atomic_store(&n_calls, 0);
    atomic_store(&is_counting, true);
    void *volatile p = malloc(10);
    p = realloc(p, 2000);
    free(p);
    p = calloc(3, 3);
    atomic_store(&is_counting, false);
    free(p);
    cr_assert_eq(atomic_load(&n_calls), 3);
}

Test(allocation, none_in_a_running_session, .timeout = 500)
{
    static const char *const kinds[] = { "mat", "cells", "switches" };
    for (int i = 0; i < 3; i++) {
        run_a_minute(kinds[i], "binary");
        run_a_minute(kinds[i], "text");
    }
}
