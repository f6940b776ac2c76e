/* The recorder's thread: it keeps what it was given, never waits for its disc, and ends where it stands, told, when the
 * disc is too slow, full, or as good as full; a killed program leaves a recording that is read up to the cut. */
#define _GNU_SOURCE /* MAP_ANONYMOUS, RTLD_NEXT */
#include "base/monotime.h"
#include "link/recorder.h"

#include <criterion/criterion.h>
#include <dlfcn.h>
#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static struct recorder recorder;
static struct recording recording;
static struct recorder_status status;
static char path[200];
static const struct recording_head HEAD = { .n_notes = 0 };
static atomic_bool is_let; /* the disc that waits may go on */
static atomic_int room_mb;

static atomic_int n_unlocked, n_unguarded;

/* Stands in for the system's: what is unlocked was locked. */
int
pthread_mutex_unlock(pthread_mutex_t *m)
{
    static int (*real)(pthread_mutex_t *);
    if (!real) {
        void *found = dlsym(RTLD_NEXT, "pthread_mutex_unlock");
        memcpy(&real, &found, sizeof real);
    }
    if (m == &recorder.lock) {
        atomic_fetch_add(&n_unlocked, 1);
        atomic_fetch_add(&n_unguarded, pthread_mutex_trylock(m) == 0);
    }
    return real(m);
}

static ssize_t
write_when_let(void *context, int fd, const void *bytes, size_t len)
{
    (void) context;
    while (!atomic_load(&is_let))
        monotime_sleep_us(UNITS_US_PER_MS);
    return write(fd, bytes, len);
}

static int64_t
room_as_told(void *context, int fd)
{
    (void) context;
    (void) fd;
    return atomic_load(&room_mb) * INT64_C(1000000);
}

static void
new_path(void)
{
    strcpy(path, "/tmp/underfoot_recorder_XXXXXX");
    const int fd = mkstemp(path);
    cr_assert(fd >= 0);
    close(fd);
    unlink(path);
}

/* Whether the disc of the test has room is not what is tested. */
static struct recorder_config
config_of(void)
{
    struct recorder_config c = recorder_config_default();
    c.reserve_bytes = 0;
    c.frame_ms = 1;
    return c;
}

static void
start(const struct recorder_config *c)
{
    new_path();
    cr_assert_eq(recorder_start_with(&recorder, path, &HEAD, c), ERR_OK, "%s", message_english(&recorder.why));
}

/* Each item of a recording made by put_numbers() is the next number; how many. */
static int
put_number(struct recorder *r, int i)
{
    return recorder_put(r, i % 5 == 0 ? RECORDING_TICK : RECORDING_BYTES, &i, sizeof i, (struct host_time){ 1000 + i });
}

static int
read_numbers(void)
{
    struct recording_item item;
    int n = 0, number;
    cr_assert_eq(recording_open(&recording, path), ERR_OK, "%s", message_english(&recording.why));
    for (; recording_next(&recording, &item); n++) {
        cr_assert_eq(item.len, sizeof number);
        memcpy(&number, item.data, sizeof number);
        cr_assert_eq(number, n, "in order, and none twice");
        cr_assert_eq(item.arrived.us, 1000 + n);
        cr_assert_eq(item.kind, n % 5 == 0 ? RECORDING_TICK : RECORDING_BYTES);
    }
    recording_close(&recording);
    return n;
}

static void
wait_for_early_end(void)
{
    for (int i = 0; i < 10000 && !atomic_load(&recorder.has_ended); i++)
        monotime_sleep_us(UNITS_US_PER_MS);
    recorder_get_status(&recorder, &status);
    cr_assert(status.has_ended_early && !status.is_running);
    cr_assert_eq(atomic_load(&n_unguarded), 0, "its state is written under its lock");
}

Test(recorder, keeps_what_it_was_given_in_order)
{
    struct recorder_config c = config_of();
    start(&c);
    for (int i = 0; i < 10000; i++)
        cr_assert(put_number(&recorder, i));
    recorder_get_status(&recorder, &status);
    cr_expect(status.is_running && !status.has_ended_early);
    recorder_stop(&recorder);
    recorder_get_status(&recorder, &status);
    cr_expect(!status.is_running && !status.has_ended_early);
    struct stat st;
    cr_expect(stat(path, &st) == 0 && (uint64_t) st.st_size == status.n_file_bytes);
    recorder_stop(&recorder);
    cr_expect_eq(read_numbers(), 10000);
    cr_expect_not(recording_has_lost(&recording), "%s", message_english(&recording.why));
    unlink(path);
}

Test(recorder, a_long_reading_and_a_long_command_come_back_whole)
{
    static uint8_t bytes[100000];
    struct recorder_config c = config_of();
    struct recording_item item;
    size_t len = 0;
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (uint8_t) (i * 7 + i / 251);
    start(&c);
    cr_expect(recorder_put(&recorder, RECORDING_COMMAND, bytes, RECORDING_ITEM_MAX, (struct host_time){ 7 }));
    cr_expect(recorder_put(&recorder, RECORDING_BYTES, bytes, sizeof bytes, (struct host_time){ 8 }));
    cr_expect(recorder_put(&recorder, RECORDING_MARK, NULL, 0, (struct host_time){ 9 }));
    recorder_stop(&recorder);
    cr_assert_eq(recording_open(&recording, path), ERR_OK);
    cr_assert(recording_next(&recording, &item) && item.kind == RECORDING_COMMAND && item.len == RECORDING_ITEM_MAX);
    cr_expect_arr_eq(item.data, bytes, RECORDING_ITEM_MAX);
    while (recording_next(&recording, &item) && item.kind == RECORDING_BYTES) {
        cr_assert_eq(memcmp(item.data, bytes + len, item.len), 0);
        len += item.len;
    }
    cr_expect_eq(len, sizeof bytes);
    cr_expect(item.kind == RECORDING_MARK && item.offset == sizeof bytes && item.arrived.us == 9);
    recording_close(&recording);
    unlink(path);
}

/* The ring holds RECORDER_N_PIECES; the thread may have taken some before its disc stood still. */
Test(recorder, a_disc_that_stands_still_never_delays_a_byte_and_ends_the_recording)
{
    struct recorder_config c = config_of();
    int n = 0;
    atomic_store(&is_let, true);
    c.disc.write = write_when_let;
    start(&c);
    atomic_store(&is_let, false);
    while (put_number(&recorder, n))
        n++;
    cr_expect_geq(n, RECORDER_N_PIECES);
    cr_expect_not(put_number(&recorder, n), "nothing after the hole");
    atomic_store(&is_let, true);
    wait_for_early_end();
    cr_expect_not_null(strstr(message_english(&status.why), "too slow"), "%s", message_english(&status.why));
    recorder_stop(&recorder);
    cr_expect_eq(read_numbers(), n, "all before the hole");
    cr_expect(recording.loss.is_ended_early);
    cr_expect_not_null(strstr(message_english(&recording.why), "too slow"), "%s", message_english(&recording.why));
    unlink(path);
}

/* Computed: at least 10 s are taken to have gone by, so a minute has at most six times the bytes; and the room lasts as
 * many minutes as that goes into it. */
Test(recorder, the_rate_is_told_in_megabytes_a_minute_and_the_room_in_minutes)
{
    struct recorder_config c = config_of();
    c.reserve_bytes = 100 * INT64_C(1000000);
    c.disc.room_bytes = room_as_told;
    atomic_store(&room_mb, 130);
    start(&c);
    recorder.begun.us -= 10 * UNITS_US_PER_S;
    for (int i = 0; i < 10000 && !(status.mb_per_min > 0); i++) {
        cr_assert(put_number(&recorder, i));
        monotime_sleep_us(UNITS_US_PER_MS);
        recorder_get_status(&recorder, &status);
    }
    cr_expect(status.mb_per_min > 0 && status.mb_per_min <= 6e-6 * (double) status.n_file_bytes, "%g", status.mb_per_min);
    cr_expect_float_eq(status.room_min * status.mb_per_min, 30, 1e-6);
    recorder_stop(&recorder);
    unlink(path);
}

Test(recorder, ends_before_the_store_has_no_room_and_says_so)
{
    struct recorder_config c = config_of();
    c.reserve_bytes = 100 * INT64_C(1000000);
    c.disc.room_bytes = room_as_told;
    atomic_store(&room_mb, 99);
    new_path();
    cr_expect_eq(recorder_start_with(&recorder, path, &HEAD, &c), ERR_OS, "none begins");
    cr_expect_not_null(strstr(message_english(&recorder.why), "under 100 MB are free"), "%s", message_english(&recorder.why));
    cr_expect_neq(access(path, F_OK), 0, "and nothing is left");
    recorder_stop(&recorder);
    atomic_store(&room_mb, 130);
    start(&c);
    recorder_get_status(&recorder, &status);
    cr_expect_eq(status.room_bytes, 30000000, "above the reserve");
    int n = 0;
    for (; n < 100; n++)
        cr_assert(put_number(&recorder, n));
    atomic_store(&room_mb, 100);
    wait_for_early_end();
    cr_expect_not(put_number(&recorder, n));
    recorder_stop(&recorder);
    recorder_get_status(&recorder, &status);
    cr_expect_not_null(strstr(message_english(&status.why), "are the store's"), "%s", message_english(&status.why));
    cr_expect_leq(read_numbers(), n, "where it stood: what still waited in the ring is not in");
    cr_expect_not_null(strstr(message_english(&recording.why), "are the store's"), "%s", message_english(&recording.why));
    unlink(path);
}

/* RLIMIT_FSIZE answers as a full disc does, and also binds root. */
Test(recorder, a_full_disc_ends_the_recording_and_leaves_whole_frames)
{
    struct recorder_config c = config_of();
    struct rlimit limit;
    int n = 0;
    signal(SIGXFSZ, SIG_IGN);
    start(&c);
    recorder_get_status(&recorder, &status);
    const uint64_t begun = status.n_file_bytes;
    for (status.n_file_bytes = begun; status.n_file_bytes == begun; recorder_get_status(&recorder, &status)) {
        cr_assert(put_number(&recorder, n)); /* a first frame, a small one, is on the disc */
        n++;
        monotime_sleep_us(UNITS_US_PER_MS);
    }
    getrlimit(RLIMIT_FSIZE, &limit);
    limit.rlim_cur = 3000;
    cr_assert_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    for (; n < 1000000 && put_number(&recorder, n); n++)
        while (ring_count(&recorder.ring) > RECORDER_N_PIECES / 2 && !atomic_load(&recorder.has_ended))
            monotime_sleep_us(UNITS_US_PER_MS); /* no faster than the disc: the ring is not what ends it */
    wait_for_early_end();
    cr_expect_not_null(strstr(message_english(&status.why), "can't be written any more"), "%s", message_english(&status.why));
    recorder_stop(&recorder);
    limit.rlim_cur = limit.rlim_max;
    setrlimit(RLIMIT_FSIZE, &limit);
    struct stat st;
    cr_assert_eq(stat(path, &st), 0);
    cr_expect_leq(st.st_size, 3000);
    const int n_read = read_numbers();
    cr_expect(n_read > 0 && n_read < n);
    cr_expect(recording.loss.is_cut && recording.loss.n_places == 0, "%s", message_english(&recording.why));
    unlink(path);
}

Test(recorder, two_on_one_path_the_second_is_refused_and_the_first_goes_on)
{
    static struct recorder second;
    struct recorder_config c = config_of();
    start(&c);
    cr_assert(put_number(&recorder, 0));
    cr_expect_eq(recorder_start_with(&second, path, &HEAD, &c), ERR_OS);
    cr_expect_not_null(strstr(message_english(&second.why), "is not overwritten"), "%s", message_english(&second.why));
    recorder_stop(&second);
    cr_assert(put_number(&recorder, 1));
    recorder_stop(&recorder);
    cr_expect_eq(read_numbers(), 2);
    unlink(path);
}

/* The child puts numbers until it is killed with frames of them on the disc; shared: how many it put. */
Test(recorder, a_killed_program_leaves_a_recording_that_is_read_up_to_the_cut)
{
    struct recorder_config c = config_of();
    struct stat st;
    atomic_int *n_put = mmap(NULL, sizeof *n_put, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    cr_assert_neq(n_put, MAP_FAILED);
    c.frame_ms = 50;
    new_path();
    const pid_t child = fork();
    cr_assert(child >= 0);
    if (child == 0) {
        if (recorder_start_with(&recorder, path, &HEAD, &c) != ERR_OK)
            _exit(1);
        for (int i = 0; put_number(&recorder, i); i++) {
            atomic_store(n_put, i + 1);
            monotime_sleep_us(100);
        }
        _exit(2);
    }
    for (int i = 0; i < 20000 && (stat(path, &st) != 0 || st.st_size < 3000); i++)
        monotime_sleep_us(UNITS_US_PER_MS);
    kill(child, SIGKILL);
    int how;
    cr_assert(waitpid(child, &how, 0) == child && WIFSIGNALED(how), "killed, not ended");
    const int n = read_numbers();
    cr_expect(n > 0 && n <= atomic_load(n_put) + 1, "%d of %d", n, atomic_load(n_put));
    cr_expect(recording.loss.is_cut && recording.loss.n_places == 0);
    cr_expect_not_null(strstr(message_english(&recording.why), "was cut short"), "%s", message_english(&recording.why));
    munmap(n_put, sizeof *n_put);
    unlink(path);
}

/* Puts numbers from *n on until the file at `there` is written to. */
static void
put_until_it_grows(const char *there, int *n)
{
    struct stat st = { .st_size = 0 };
    for (int i = 0; i < 10000 && (stat(there, &st) != 0 || st.st_size == 0); i++) {
        cr_assert(put_number(&recorder, (*n)++));
        monotime_sleep_us(UNITS_US_PER_MS);
    }
    cr_assert(st.st_size > 0);
}

Test(recorder, one_whose_file_is_lost_goes_on_elsewhere_with_all_that_it_held)
{
    const struct recorder_config c = config_of();
    char next[400], folder[300];
    int n = 0;
    start(&c);
    snprintf(folder, sizeof folder, "%s-aside", path);
    snprintf(next, sizeof next, "%s/recordings/visit-1-2.rec", folder);
    put_until_it_grows(path, &n);
    recorder_follow(&recorder, path, next);
    put_until_it_grows(path, &n);
    monotime_sleep_us(50 * UNITS_US_PER_MS);
    cr_expect_neq(access(next, F_OK), 0, "it is not lost: it stays");
    cr_assert_eq(unlink(path), 0);
    recorder_follow(&recorder, path, next);
    put_until_it_grows(next, &n);
    for (int i = 0; i < 100; i++)
        cr_assert(put_number(&recorder, n++));
    recorder_stop(&recorder);
    cr_assert_lt(strlen(next), sizeof path);
    strcpy(path, next);
    cr_expect_eq(read_numbers(), n, "from the first on");
    cr_expect_not(recording_has_lost(&recording), "%s", message_english(&recording.why));
    snprintf(next, sizeof next, "rm -rf '%s'", folder);
    cr_expect_eq(system(next), 0);
}

Test(recorder, one_that_never_started_knows_nothing)
{
    static struct recorder none;
    recorder_stop(&none);
    recorder_get_status(&none, &status);
    cr_expect(!status.is_running && !status.has_ended_early && isnan(status.mb_per_min) && status.room_bytes < 0 &&
              isnan(status.room_min));
    cr_expect_not(recorder_put(&none, RECORDING_MARK, NULL, 0, (struct host_time){ 1 }));
}

/* Its state is written by its thread and asked by another: never without the lock. */
Test(recorder, its_state_is_only_touched_under_its_lock)
{
    const struct recorder_config c = config_of();
    start(&c);
    for (int i = 0; i < 50; i++) {
        cr_expect(put_number(&recorder, i));
        recorder_get_status(&recorder, &status);
        monotime_sleep_us(UNITS_US_PER_MS);
    }
    recorder_stop(&recorder);
    cr_expect_gt(atomic_load(&n_unlocked), 50, "by both");
    cr_expect_eq(atomic_load(&n_unguarded), 0);
    unlink(path);
}
