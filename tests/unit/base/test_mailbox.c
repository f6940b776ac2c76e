/* One slot, newest wins: the cases of base/mailbox.h. */
#include <string.h>

#include <criterion/criterion.h>

#include "base/mailbox.h"

struct item {
    int n;
    char rest[60];
};

Test(mailbox, an_empty_box_gives_nothing)
{
    struct item room[MAILBOX_N_BUFFERS], out = { .n = 7 };
    struct mailbox m;
    mailbox_init(&m, room, sizeof room[0]);
    cr_assert_not(mailbox_take(&m, &out));
    cr_assert_eq(out.n, 7, "the reader's copy must stand");
}

Test(mailbox, newest_wins)
{
    struct item room[MAILBOX_N_BUFFERS], out;
    struct mailbox m;
    mailbox_init(&m, room, sizeof room[0]);
    for (int n = 1; n <= 3; n++)
        mailbox_put(&m, &(struct item) { .n = n });
    cr_assert(mailbox_take(&m, &out));
    cr_assert_eq(out.n, 3);
    cr_assert_not(mailbox_take(&m, &out), "an item is taken once");
}

Test(mailbox, every_order_of_puts_and_takes_keeps_the_three_buffers_apart)
{
    /* All 2^12 sequences of put (1) and take (0). */
    for (int order = 0; order < 1 << 12; order++) {
        struct item room[MAILBOX_N_BUFFERS], out;
        struct mailbox m;
        int last_put = 0, last_taken = 0;
        mailbox_init(&m, room, sizeof room[0]);
        for (int i = 0; i < 12; i++) {
            if (order >> i & 1) {
                mailbox_put(&m, &(struct item) { .n = ++last_put });
            } else {
                bool is_new = mailbox_take(&m, &out);
                cr_assert_eq(is_new, last_put > last_taken);
                if (is_new)
                    cr_assert_eq(out.n, last_put);
                last_taken = last_put;
            }
            unsigned middle = atomic_load(&m.middle) & 3u;
            cr_assert_eq(1u << m.writers | 1u << m.readers | 1u << middle, 7u);
        }
    }
}
