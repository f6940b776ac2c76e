/* Commands to bytes and back: a recording is read years later, by another version. */
#include "live/command_code.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static bool
is_same_number(double a, double b)
{
    return memcmp(&a, &b, sizeof a) == 0;
}

static struct command
make_targets(int n)
{
    struct command c = { .kind = COMMAND_TARGETS, .number = (double) NAN, .n_targets = n, .focus = METRIC_CONTACT_MS };
    static const enum metric metrics[VERDICT_MAX_BARS] = { METRIC_CADENCE_SPM, METRIC_CONTACT_MS,
                                                           METRIC_LANDING_AHEAD_MM, METRIC_STRIKE_INDEX_PCT };
    for (int i = 0; i < n; i++)
        c.target[i] = (struct target){ metrics[i], 170.1 + i, 1e-300 + 180 + i, i == 1 ? (double) NAN : 1.0 / 3, i % 2 == 0 };
    return c;
}

static void
check_round_trip(const struct command *c)
{
    uint8_t bytes[COMMAND_CODE_MAX];
    struct command back;
    const size_t len = command_code_write(c, bytes);
    cr_assert(command_code_read(bytes, len, &back));
    cr_expect_eq(back.kind, c->kind);
    cr_expect(is_same_number(back.number, c->number));
    if (c->kind != COMMAND_TARGETS) {
        cr_expect_eq(back.n_targets, 0);
        return;
    }
    cr_assert_eq(back.n_targets, c->n_targets);
    cr_expect_eq(back.focus, c->focus);
    for (int i = 0; i < c->n_targets; i++) {
        const struct target *a = &back.target[i], *b = &c->target[i];
        cr_expect(a->metric == b->metric && a->is_change == b->is_change && is_same_number(a->low, b->low) &&
                      is_same_number(a->high, b->high) && is_same_number(a->baseline, b->baseline),
                  "target %d", i);
    }
}

Test(command_code, each_kind_comes_back_bit_for_bit)
{
    static const double numbers[] = { 0, -0.0, 1.0 / 3, 60, (double) NAN, (double) INFINITY, 5e-324 };
    for (int kind = COMMAND_PAUSE; kind <= COMMAND_END; kind++)
        for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
            struct command c = make_targets(2);
            c.kind = (enum command_kind) kind;
            c.number = numbers[i];
            check_round_trip(&c);
        }
    for (int n = 1; n <= VERDICT_MAX_BARS; n++) {
        struct command c = make_targets(n);
        check_round_trip(&c);
        c.focus = METRIC_COUNT;
        check_round_trip(&c);
    }
}

Test(command_code, the_bytes_are_those_of_version_1)
{
    /* computed by hand from command_code.h; 62.5 is 0x404F400000000000 (IEEE 754) */
    static const uint8_t expected[] = { 1, COMMAND_EXTEND, 0, 0, 0, 0, 0, 0x40, 0x4F, 0x40, 0 };
    uint8_t bytes[COMMAND_CODE_MAX];
    const struct command c = { .kind = COMMAND_EXTEND, .number = 62.5 };
    cr_assert_eq(command_code_write(&c, bytes), sizeof expected);
    cr_expect_arr_eq(bytes, expected, sizeof expected);
    cr_expect_eq(COMMAND_PAUSE, 0);
    cr_expect_eq(COMMAND_EXTEND, 3);
    cr_expect_eq(COMMAND_END, 8, "a new kind goes behind it, or the version goes up");
}

Test(command_code, cut_anywhere_or_too_long_it_is_refused)
{
    uint8_t bytes[COMMAND_CODE_MAX + 1] = { 0 };
    struct command back;
    const struct command c = make_targets(3);
    const size_t len = command_code_write(&c, bytes);
    for (size_t n = 0; n < len; n++)
        cr_expect(!command_code_read(bytes, n, &back), "%zu of %zu bytes", n, len);
    cr_expect(!command_code_read(bytes, len + 1, &back));
}

Test(command_code, what_is_not_known_is_refused)
{
    uint8_t bytes[COMMAND_CODE_MAX];
    struct command back;
    struct command c = make_targets(1);
    size_t len = command_code_write(&c, bytes);
    bytes[0] = COMMAND_CODE_VERSION + 1;
    cr_expect(!command_code_read(bytes, len, &back), "version");
    bytes[0] = COMMAND_CODE_VERSION;
    bytes[12] ^= 1; /* a letter of the focus */
    cr_expect(!command_code_read(bytes, len, &back), "metric");
    bytes[12] ^= 1;
    cr_expect(command_code_read(bytes, len, &back));
    bytes[1] = COMMAND_PAUSE;
    cr_expect(!command_code_read(bytes, len, &back), "targets where there are none");
    c.kind = COMMAND_END;
    len = command_code_write(&c, bytes);
    bytes[1] = COMMAND_END + 1;
    cr_expect(!command_code_read(bytes, len, &back), "kind");
    bytes[1] = COMMAND_TARGETS;
    cr_expect(!command_code_read(bytes, len, &back), "no targets where there are some");
}
