/* The writer's thread: what it owns is given back only once it has ended. */
#define _GNU_SOURCE
#include "store/writer.h"

#include "aid/store_suite.h"

#include <pthread.h>

TestSuite(writer, .init = make_rig, .fini = remove_rig);

static struct writer writer;
static int n_joined;

/* Stands in for the system's, also for those of others: that the thread is waited for while what it reads is there. */
int
pthread_join(pthread_t thread, void **result)
{
    n_joined += writer.is_running && writer.memory != NULL && pthread_equal(thread, writer.thread);
    return pthread_timedjoin_np(thread, result, NULL); /* no time: as long as it takes */
}

Test(writer, stopping_waits_for_the_thread_before_anything_of_it_goes)
{
    open_store();
    const int64_t visit = begin_visit();
    const struct coached_step step = store_rig_step(1, true);
    cr_assert_eq(writer_start(&writer, rig.path, visit), ERR_OK, "%s", message_english(&writer.status.why));
    cr_expect(writer_put_step(&writer, &step));
    cr_expect_eq(writer_stop(&writer, NULL), ERR_OK, "%s", message_english(&writer.status.why));
    cr_expect_eq(n_joined, 1);
    cr_expect_eq(writer.status.n_written, 1);
    store_close(&store);
}
