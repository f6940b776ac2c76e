/* The ring by one thread; two threads: tests/threads/test_ring_threads.c. */
#include "base/ring.h"

#include <criterion/criterion.h>

/* Odd sizes, so that a mistake in slot arithmetic can't hide behind alignment. */
struct item {
    unsigned char bytes[13];
};

static struct item
item_of(unsigned number)
{
    struct item it;

    for (size_t i = 0; i < sizeof it.bytes; i++)
        it.bytes[i] = (unsigned char) (number * 31 + i);
    return it;
}

static void
put(struct ring *r, unsigned number)
{
    struct item it = item_of(number);

    cr_assert(ring_put(r, &it), "item %u refused", number);
}

static void
take(struct ring *r, unsigned number)
{
    struct item it, want = item_of(number);

    cr_assert(ring_take(r, &it), "item %u missing", number);
    cr_assert_arr_eq(it.bytes, want.bytes, sizeof want.bytes, "item %u differs", number);
}

Test(ring, items_come_out_in_order_over_many_wraps)
{
    struct item memory[5];
    struct ring r;
    unsigned in = 0, out = 0;

    ring_init(&r, memory, sizeof memory[0], 5);
    for (int round = 0; round < 100; round++) {
        for (int i = 0; i < 1 + round % 5; i++)
            put(&r, in++);
        while (out < in)
            take(&r, out++);
    }
    cr_assert_eq(ring_dropped(&r), 0);
    cr_assert_eq(ring_count(&r), 0);
}

Test(ring, an_empty_ring_gives_nothing)
{
    struct item memory[2], it;
    struct ring r;

    ring_init(&r, memory, sizeof memory[0], 2);
    cr_assert_not(ring_take(&r, &it));
    cr_assert_null(ring_peek(&r, 0));
}

Test(ring, a_full_ring_refuses_counts_and_keeps_what_it_has)
{
    struct item memory[3], extra = item_of(99);
    struct ring r;

    ring_init(&r, memory, sizeof memory[0], 3);
    for (unsigned i = 0; i < 3; i++)
        put(&r, i);
    cr_assert_not(ring_put(&r, &extra));
    cr_assert_not(ring_put(&r, &extra));
    cr_assert_eq(ring_dropped(&r), 2);
    cr_assert_eq(ring_count(&r), 3);
    take(&r, 0);
    put(&r, 3);
    for (unsigned i = 1; i <= 3; i++)
        take(&r, i);
    cr_assert_eq(ring_dropped(&r), 2);
}

Test(ring, peeked_items_stay_until_they_are_released)
{
    struct item memory[4], extra = item_of(9), want = item_of(2);
    struct ring r;

    ring_init(&r, memory, sizeof memory[0], 4);
    for (unsigned i = 0; i < 4; i++)
        put(&r, i);
    cr_assert_arr_eq(ring_peek(&r, 2), want.bytes, sizeof want.bytes);
    cr_assert_null(ring_peek(&r, 4));
    cr_assert_not(ring_put(&r, &extra), "peeking must not free a slot");
    ring_release(&r, 2);
    cr_assert_eq(ring_count(&r), 2);
    take(&r, 2);
    take(&r, 3);
}

Test(ring, a_ring_of_one_item_works)
{
    struct item memory[1], extra = item_of(1);
    struct ring r;

    ring_init(&r, memory, sizeof memory[0], 1);
    for (unsigned i = 0; i < 10; i++) {
        put(&r, i);
        cr_assert_not(ring_put(&r, &extra));
        take(&r, i);
    }
    cr_assert_eq(ring_dropped(&r), 10);
}
