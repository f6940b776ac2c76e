/* mailbox.h - one slot from one thread to another, newest wins.
 *
 * In:  mailbox_put() by the one writer, never waits.   Out: mailbox_take() by the one reader, never waits.
 * How: three buffers. The writer owns one, the reader owns one, the third lies in between and changes
 *      hands by one atomic exchange. A late picture is worthless: what was not taken in time is lost.
 *      (What must be kept to the last item goes through ring.h.)
 *
 *      invariant   {writer's, middle, reader's} = {0, 1, 2} in some order, at every moment
 *      case 1   put put put take      the third is taken, once           (test: newest_wins)
 *      case 2   take with no put      nothing, the reader's copy stands  (test: an_empty_box_gives_nothing)
 *
 * Delay: none.  Memory: the caller's, 3 x item_size bytes, must outlive the mailbox.
 * Threads: one writer and one reader; the two may be different threads.  Errors: none.
 */
#ifndef BASE_MAILBOX_H
#define BASE_MAILBOX_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>

#define MAILBOX_N_BUFFERS 3

struct mailbox {
    size_t item_size;      /* bytes; fixed at init */
    unsigned char *buffer; /* MAILBOX_N_BUFFERS x item_size, borrowed */
    unsigned writers;      /* index; writer only */
    unsigned readers;      /* index; reader only */
    atomic_uint middle;    /* index, plus MAILBOX_FRESH when not taken yet; both */
};

/* Starts empty. memory: MAILBOX_N_BUFFERS * item_size bytes, aligned for the item, must outlive m. */
void mailbox_init(struct mailbox *m, void *memory, size_t item_size);

/* Copies item_size bytes from item; replaces what was not taken. Writer only. */
void mailbox_put(struct mailbox *m, const void *item);

/* If something new was put since the last take, copies it to item and returns true; else leaves item
 * alone and returns false. Reader only. */
bool mailbox_take(struct mailbox *m, void *item);

#endif
