#include "base/monotime.h"
#include "base/str.h"
#include "link/fdsource.h"
#include "link/port.h"
#include "link/replay.h"
#include "link/source.h"
#include "wire/wire.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct source_config
source_config_default(void)
{
    return (struct source_config){ .baud = WIRE_BAUD_DEFAULT, .pace_ratio = 0, .hello_wait_ms = 3000 };
}

/* Asks for the hello and for data. Refusals do not matter here: the reader finds a lost port itself. */
static void
ask(struct source *s)
{
    uint8_t message[128];
    size_t n = wire_encode_ask(WIRE_START, 0, 0, message, sizeof message);
    n += wire_encode_ask(WIRE_ASK_HELLO, 1, 0, message + n, sizeof message - n);
    (void) source_write(s, message, n);
}

static enum err
open_recording(struct source *s, const char *path, const struct source_config *c)
{
    s->replay = malloc(sizeof *s->replay);
    if (s->replay == NULL) {
        message_tell(&s->why, MESSAGE_SOURCE_NO_MEMORY, message_path(path));
        return ERR_MEMORY;
    }
    enum err err = replay_open(s->replay, path, c->pace_ratio);
    if (err != ERR_OK) {
        s->why = s->replay->why;
        free(s->replay);
        s->replay = NULL;
        return err;
    }
    s->kind = SOURCE_REPLAY;
    return ERR_OK;
}

static enum err
open_port(struct source *s, const char *path, const struct source_config *c)
{
    enum err err = port_open(&s->port, path, c->baud, &s->why);
    if (err == ERR_OK)
        s->kind = SOURCE_PORT;
    return err;
}

static void
start_empty(struct source *s)
{
    memset(s, 0, sizeof *s);
    s->fd = -1;
}

/* ------------------------------------------------------------------ asking every port */

struct probe {
    struct source source;
    struct wire_decoder decoder;
};

/* Reads what a port has, without waiting. True when its hello has come. */
static bool
probe_hears_hello(struct probe *p, struct source_found *found)
{
    uint8_t buf[512];
    struct host_time arrived;
    int n = source_read(&p->source, buf, sizeof buf, 0, &arrived);
    if (n < 0) {
        found->why = p->source.why;
        source_close(&p->source);
        return false;
    }
    for (size_t used = 0; used < (size_t) n;) {
        used += wire_feed(&p->decoder, buf + used, (size_t) n - used, arrived);
        const struct packet *packet = wire_take(&p->decoder);
        if (packet != NULL && packet->type == PACKET_HELLO) {
            found->has_hello = true;
            found->hello = packet->hello;
            return true;
        }
    }
    return false;
}

static void
open_all(struct probe *probes, struct source_found *found, int n, const struct source_config *c)
{
    for (int i = 0; i < n; i++) {
        struct probe *p = &probes[i];
        start_empty(&p->source);
        wire_init(&p->decoder);
        if (!message_is_none(&found[i].why))
            continue;
        str_copy(p->source.path, sizeof p->source.path, found[i].path);
        if (open_port(&p->source, found[i].path, c) == ERR_OK)
            ask(&p->source);
        else
            found[i].why = p->source.why;
    }
}

/* Listens to all that are open until each has said hello, or the first when only one is wanted, or the
 * time is up. Returns the index of the first hello, -1 without one. */
static int
listen_to_all(struct probe *probes, struct source_found *found, int n, const struct source_config *c,
              bool wants_one, const struct source_wish *wish)
{
    int64_t start_us = monotime_now().us;
    int64_t end_us = start_us + c->hello_wait_ms * UNITS_US_PER_MS;
    int64_t ask_us = start_us + c->hello_wait_ms * UNITS_US_PER_MS / 2;
    int first = -1;
    bool is_waiting = true, has_asked_again = false;
    while (is_waiting && monotime_now().us < end_us && !(wish != NULL && wish->should_stop(wish->context))) {
        /* A board that restarts when its port is opened misses the first question. */
        bool asks_again = !has_asked_again && monotime_now().us >= ask_us;
        has_asked_again |= asks_again;
        is_waiting = false;
        for (int i = 0; i < n; i++) {
            if (probes[i].source.kind == SOURCE_NONE || found[i].has_hello)
                continue;
            if (asks_again)
                ask(&probes[i].source);
            if (probe_hears_hello(&probes[i], &found[i])) {
                first = first < 0 ? i : first;
                if (wants_one)
                    return first;
            }
            is_waiting |= !found[i].has_hello && probes[i].source.kind != SOURCE_NONE;
        }
        if (is_waiting)
            monotime_sleep_us(5 * UNITS_US_PER_MS);
    }
    return first;
}

static bool
is_among(const struct source_there *there, const char *path)
{
    for (int i = 0; i < there->n; i++)
        if (strcmp(there->path[i], path) == 0)
            return true;
    return false;
}

/* A port is opened once, whatever it says: opening restarts some boards. One that is full of names lets nobody be asked. */
static bool
is_spared(const struct source_wish *wish, const char *path)
{
    return wish != NULL && wish->but != NULL && (wish->but->n == SOURCE_FOUND_MAX || is_among(wish->but, path));
}

static void
note_asked(const struct source_wish *wish, const struct probe *probes, int n)
{
    for (int i = 0; i < n && wish != NULL && wish->but != NULL && wish->but->n < SOURCE_FOUND_MAX; i++)
        if (probes[i].source.kind != SOURCE_NONE)
            memcpy(wish->but->path[wish->but->n++], probes[i].source.path, SOURCE_PATH_MAX);
}

/* The only one that is it; -1 without one, or when two say the same. */
static int
choose(const struct source_wish *wish, const struct source_found *found, int n)
{
    int chosen = -1, n_fit = 0;
    for (int i = 0; i < n; i++)
        if (found[i].has_hello && wish->is_it(wish->context, &found[i].hello)) {
            chosen = i;
            n_fit++;
        }
    return n_fit == 1 ? chosen : -1;
}

/* Lists, asks, explains. keep: where the port that is wanted goes, still open; NULL: none. It is the first that said
 * hello, or the one that is wished for (wish: NULL = none). */
static int
probe_all(struct source_found *found, int max, const struct source_config *c, struct source *keep,
          const struct source_wish *wish)
{
    struct port_listed listed[SOURCE_FOUND_MAX];
    int n = port_list(listed, max < SOURCE_FOUND_MAX ? max : SOURCE_FOUND_MAX);
    struct probe *probes = n > 0 ? calloc((size_t) n, sizeof *probes) : NULL;
    for (int i = 0; i < n; i++) {
        memset(&found[i], 0, sizeof found[i]);
        str_copy(found[i].path, sizeof found[i].path, listed[i].path);
        str_copy(found[i].description, sizeof found[i].description, listed[i].description);
        if (listed[i].is_console)
            message_tell(&found[i].why, MESSAGE_SOURCE_IS_CONSOLE, message_path(found[i].path));
        else if (is_spared(wish, found[i].path))
            message_tell(&found[i].why, MESSAGE_SOURCE_NOT_ASKED, message_path(found[i].path));
        else if (probes == NULL)
            message_tell(&found[i].why, MESSAGE_SOURCE_NO_MEMORY_TO_ASK, message_path(found[i].path));
    }
    if (probes == NULL)
        return n;
    open_all(probes, found, n, c);
    note_asked(wish, probes, n);
    int first = listen_to_all(probes, found, n, c, keep != NULL && wish == NULL, wish);
    if (wish != NULL)
        first = choose(wish, found, n);
    for (int i = 0; i < n; i++) {
        struct probe *p = &probes[i];
        if (!found[i].has_hello && p->source.kind != SOURCE_NONE)
            source_complaint(&p->source, &p->decoder.health, &found[i].why);
        if (!found[i].has_hello && wire_refusal(&p->decoder) != 0)
            message_tell(&found[i].why, MESSAGE_SOURCE_REFUSED, message_path(found[i].path), wire_refusal(&p->decoder));
        if (keep != NULL && i == first)
            *keep = p->source;
        else
            source_close(&p->source);
    }
    free(probes);
    return n;
}

int
source_probe(struct source_found *found, int max, const struct source_config *c)
{
    return probe_all(found, max, c, NULL, NULL);
}

/* One that could not be opened tells more than one that is silent, and that more than one that was not asked. */
static int
how_telling(const struct source_found *f)
{
    switch ((int) f->why.code) {
    case MESSAGE_SOURCE_IS_CONSOLE:
    case MESSAGE_SOURCE_NOT_ASKED:
        return 0;
    case MESSAGE_SOURCE_SENDS_NOTHING:
        return 1;
    default:
        return 2;
    }
}

/* Why none of n ports is a sensor: their names, and the most telling of the reasons. */
static void
say_none_answered(struct source *s, const struct source_found *found, int n)
{
    char names[ERR_WHY_MAX / 2] = "";
    const struct source_found *most = &found[0];
    for (int i = 0; i < n; i++) {
        if (i > 0)
            str_append(names, sizeof names, ", ");
        str_append(names, sizeof names, found[i].path);
        if (how_telling(&found[i]) > how_telling(most))
            most = &found[i];
    }
    if (n == 1)
        message_tell(&s->why, MESSAGE_SOURCE_NO_HELLO, message_of(&most->why));
    else
        message_tell(&s->why, MESSAGE_SOURCE_NO_HELLO_OF, n, names, message_of(&most->why));
}

static enum err
open_any(struct source *s, const struct source_config *c)
{
    struct source_found *found = calloc(SOURCE_FOUND_MAX, sizeof *found);
    if (found == NULL) {
        message_init(&s->why, MESSAGE_SOURCE_NO_MEMORY_TO_LOOK);
        return ERR_MEMORY;
    }
    int n = probe_all(found, SOURCE_FOUND_MAX, c, s, NULL);
    if (s->kind == SOURCE_NONE) {
        if (n == 0)
            message_init(&s->why, MESSAGE_SOURCE_NO_PORT);
        else
            say_none_answered(s, found, n);
    }
    free(found);
    return s->kind == SOURCE_NONE ? ERR_GONE : ERR_OK;
}

enum err
source_find(struct source *s, const struct source_wish *wish, const struct source_config *c)
{
    start_empty(s);
    struct source_found *found = calloc(SOURCE_FOUND_MAX, sizeof *found);
    if (found == NULL) {
        message_init(&s->why, MESSAGE_SOURCE_NO_MEMORY_TO_LOOK);
        return ERR_MEMORY;
    }
    probe_all(found, SOURCE_FOUND_MAX, c, s, wish);
    free(found);
    return s->kind == SOURCE_NONE ? ERR_GONE : ERR_OK;
}

/* ------------------------------------------------------------------ names of ports */

void
source_list(struct source_there *there)
{
    struct port_listed listed[SOURCE_FOUND_MAX];
    const int n = port_list(listed, SOURCE_FOUND_MAX);
    there->n = 0;
    for (int i = 0; i < n; i++)
        if (!listed[i].is_console)
            memcpy(there->path[there->n++], listed[i].path, SOURCE_PATH_MAX);
}

int
source_names(const struct source_there *there, char *out, size_t cap)
{
    out[0] = 0;
    for (int i = 0; i < there->n; i++) {
        if (strlen(out) + strlen(there->path[i]) + (i > 0 ? 2 : 0) >= cap)
            return there->n - i;
        str_append(out, cap, i > 0 ? ", " : "");
        str_append(out, cap, there->path[i]);
    }
    return 0;
}

void
source_tell_there(const char *path, struct message *why)
{
    struct source_there there;
    char names[ERR_WHY_MAX / 2];
    if (strncmp(path, "/dev/", 5) != 0)
        return;
    source_list(&there);
    const int n_more = source_names(&there, names, sizeof names);
    if (there.n == 0)
        message_tell(why, MESSAGE_SOURCE_NONE_THERE, message_of(why));
    else if (n_more == 0)
        message_tell(why, MESSAGE_SOURCE_THERE_NOW, message_of(why), names);
    else
        message_tell(why, MESSAGE_SOURCE_THERE_NOW_MORE, message_of(why), names, n_more);
}

/* ------------------------------------------------------------------ one source */

enum err
source_open(struct source *s, const char *path, const struct source_config *c)
{
    enum err err;
    start_empty(s);
    if (strcmp(path, "auto") == 0) {
        err = open_any(s, c);
    } else if (!str_copy(s->path, sizeof s->path, path)) {
        message_tell(&s->why, MESSAGE_SOURCE_PATH_TOO_LONG, SOURCE_PATH_MAX - 1);
        return ERR_USAGE;
    } else if (port_is_device(path)) {
        err = open_port(s, path, c);
    } else if (recording_is_one(path)) {
        err = open_recording(s, path, c);
    } else {
        err = fdsource_open(&s->fd, &s->is_file, path, &s->why);
        if (err == ERR_OK)
            s->kind = SOURCE_FD;
    }
    if (err == ERR_OK)
        ask(s);
    return err;
}

int
source_read(struct source *s, uint8_t *buf, size_t cap, int timeout_ms, struct host_time *arrived)
{
    int n = SOURCE_GONE;
    switch (s->kind) {
    case SOURCE_PORT:
        n = port_read(s->port, buf, cap, timeout_ms, &s->why);
        break;
    case SOURCE_FD:
        n = fdsource_read(s->fd, s->is_file, s->path, buf, cap, timeout_ms, &s->why);
        break;
    case SOURCE_REPLAY:
        n = replay_read(s->replay, buf, cap, timeout_ms, arrived);
        if (n < 0 && replay_has_lost(s->replay))
            s->why = s->replay->why;
        return n;
    case SOURCE_NONE:
        message_init(&s->why, MESSAGE_SOURCE_NOT_OPEN);
        break;
    }
    *arrived = monotime_now();
    return n;
}

enum err
source_write(struct source *s, const uint8_t *bytes, size_t len)
{
    switch (s->kind) {
    case SOURCE_PORT:
        return port_write(s->port, bytes, len, &s->why);
    case SOURCE_FD:
        return fdsource_write(s->fd, s->path, bytes, len, &s->why);
    case SOURCE_REPLAY:
        return ERR_OK;
    case SOURCE_NONE:
        break;
    }
    return ERR_GONE;
}

bool
source_is_live(const struct source *s)
{
    return s->kind == SOURCE_PORT || (s->kind == SOURCE_FD && !s->is_file) ||
           (s->kind == SOURCE_REPLAY && s->replay->pace_ratio > 0);
}

bool
source_take_gap(struct source *s)
{
    return s->kind == SOURCE_REPLAY && replay_take_gap(s->replay);
}

bool
source_has_lost(const struct source *s)
{
    return s->kind == SOURCE_REPLAY && replay_has_lost(s->replay);
}

bool
source_complaint(const struct source *s, const struct wire_health *seen, struct message *why)
{
    message_init(why, MESSAGE_NONE);
    if (seen->n_packets > 0)
        return false;
    if (seen->n_bytes == 0)
        message_tell(why, MESSAGE_SOURCE_SENDS_NOTHING, message_path(s->path));
    else if (seen->n_before_hello > 0)
        message_tell(why, MESSAGE_SOURCE_SAYS_NO_HELLO, message_path(s->path));
    else if (seen->n_refused > 0)
        message_tell(why, MESSAGE_SOURCE_IS_NEWER, message_path(s->path));
    else
        message_tell(why, MESSAGE_SOURCE_IS_NO_SENSOR, message_path(s->path));
    return true;
}

void
source_close(struct source *s)
{
    port_close(s->port);
    if (s->kind == SOURCE_FD && s->fd >= 0)
        close(s->fd);
    if (s->replay != NULL)
        replay_close(s->replay);
    free(s->replay);
    s->port = NULL;
    s->replay = NULL;
    s->fd = -1;
    s->kind = SOURCE_NONE;
}
