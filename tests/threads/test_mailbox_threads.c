/* Two threads through one mailbox: no torn item, never an older one after a newer. Run with SAN=thread. */
#include <pthread.h>
#include <stdint.h>
#include <stdio.h>

#include "base/mailbox.h"

#define N_PUTS  UINT64_C(300000)
#define N_WORDS 96

struct item {
    uint64_t word[N_WORDS]; /* all the same number */
};

static void *
write_all(void *box)
{
    static struct item item; /* this thread's only */
    for (uint64_t n = 1; n <= N_PUTS; n++) {
        for (int i = 0; i < N_WORDS; i++)
            item.word[i] = n;
        mailbox_put(box, &item);
    }
    return NULL;
}

int
main(void)
{
    static struct item room[MAILBOX_N_BUFFERS], item;
    struct mailbox box;
    pthread_t writer;
    uint64_t last = 0, n_taken = 0;
    mailbox_init(&box, room, sizeof room[0]);
    if (pthread_create(&writer, NULL, write_all, &box) != 0)
        return 77;
    while (last < N_PUTS) {
        if (!mailbox_take(&box, &item))
            continue;
        n_taken++;
        for (int i = 1; i < N_WORDS; i++)
            if (item.word[i] != item.word[0]) {
                fprintf(stderr, "torn item: %lu and %lu\n", (unsigned long) item.word[0], (unsigned long) item.word[i]);
                return 1;
            }
        if (item.word[0] <= last) {
            fprintf(stderr, "%lu came after %lu\n", (unsigned long) item.word[0], (unsigned long) last);
            return 1;
        }
        last = item.word[0];
    }
    pthread_join(writer, NULL);
    printf("%lu put, %lu taken, the last one among them\n", (unsigned long) N_PUTS, (unsigned long) n_taken);
    return 0;
}
