/* store_suite.h - what the test files of the store share: one rig and one store a test, and the short ways to
 * open, begin a visit and put a step. With Criterion, which runs each test in a process of its own. */
#ifndef AID_STORE_SUITE_H
#define AID_STORE_SUITE_H

#include "base/message.h"
#include "aid/store_rig.h"

#include <criterion/criterion.h>

static struct store_rig rig;
static struct store store;

static inline void
make_rig(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
}

static inline void
remove_rig(void)
{
    store_rig_remove(&rig);
}

static inline void
open_store(void)
{
    enum err err = store_open(&store, rig.path, 0);

    cr_assert_eq(err, ERR_OK, "%s", message_english(&store.why));
}

static inline int64_t
begin_visit(void)
{
    struct store_runner runner;

    cr_assert_eq(store_runner_ensure(&store, "R-014", &runner), ERR_OK, "%s", message_english(&store.why));
    struct store_visit v = store_visit_default(runner.id);
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    return v.id;
}

static inline void
put_step(int64_t visit, uint32_t number, bool is_settled)
{
    struct coached_step s = store_rig_step(number, is_settled);

    cr_assert_eq(store_step_put(&store, visit, &s), ERR_OK, "%s", message_english(&store.why));
}

/* For the store's readers of rows: the last row goes to context. */
static inline bool
copy_block(void *context, const struct store_block *b)
{
    *(struct store_block *) context = *b;
    return true;
}

static inline bool
copy_pain(void *context, const struct store_pain *p)
{
    *(struct store_pain *) context = *p;
    return true;
}

static inline bool
copy_note(void *context, const struct store_note *n)
{
    *(struct store_note *) context = *n;
    return true;
}

#endif
