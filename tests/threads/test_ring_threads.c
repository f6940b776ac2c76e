/* One thread puts, one takes: every item that was accepted comes out once, in order and whole, and the counts
 * add up. Plain main, so that it also runs under the thread sanitizer. */
#include "base/ring.h"

#include <pthread.h>
#include <sched.h>
#include <stdio.h>
#include <string.h>

enum { CAP = 61, N_ITEMS = 400000 };

struct item {
    uint64_t number;
    uint64_t check[7]; /* number times 1..7: a torn item shows */
};

struct side {
    struct ring *ring;
    uint64_t n_accepted;
};

static void *
put_all(void *argument)
{
    struct side *s = argument;
    struct item it;

    for (uint64_t i = 0; i < N_ITEMS; i++) {
        it.number = s->n_accepted;
        for (uint64_t k = 0; k < 7; k++)
            it.check[k] = s->n_accepted * (k + 1);
        if (ring_put(s->ring, &it))
            s->n_accepted++;
        else
            sched_yield();
    }
    it.number = UINT64_MAX; /* the end; not counted */
    while (!ring_put(s->ring, &it))
        sched_yield();
    return NULL;
}

/* Takes to the end mark, by turns singly and by peek and release. Gives the number of items, or -1. */
static int64_t
take_all(struct ring *r)
{
    struct item it;
    uint64_t n = 0;

    for (;;) {
        if (n % 2 == 0) {
            const struct item *in_place = ring_peek(r, 0);
            if (in_place == NULL) {
                sched_yield();
                continue;
            }
            it = *in_place;
            ring_release(r, 1);
        } else if (!ring_take(r, &it)) {
            sched_yield();
            continue;
        }
        if (it.number == UINT64_MAX)
            return (int64_t) n;
        if (it.number != n)
            return -1;
        for (uint64_t k = 0; k < 7; k++)
            if (it.check[k] != n * (k + 1))
                return -1;
        n++;
    }
}

int
main(void)
{
    static struct item memory[CAP];
    struct ring ring;
    struct side putter = { &ring, 0 };
    pthread_t thread;

    ring_init(&ring, memory, sizeof memory[0], CAP);
    if (pthread_create(&thread, NULL, put_all, &putter) != 0)
        return 77;
    int64_t n = take_all(&ring);
    pthread_join(thread, NULL);
    if (n < 0 || (uint64_t) n != putter.n_accepted) {
        fprintf(stderr, "took %lld, %llu were accepted\n", (long long) n,
                (unsigned long long) putter.n_accepted);
        return 1;
    }
    /* Refusals of the end mark count too, so at least. */
    if (putter.n_accepted + ring_dropped(&ring) < N_ITEMS || ring_count(&ring) != 0) {
        fprintf(stderr, "counts do not add up: %llu + %llu\n", (unsigned long long) putter.n_accepted,
                (unsigned long long) ring_dropped(&ring));
        return 1;
    }
    return 0;
}
