/* Room that is given up first when the disc is full; what a full disc makes of it: tests/reliability/aside.py. */
#include "aid/store_file.h"
#include "aid/store_rig.h"
#include "store/reserve.h"

#include <criterion/criterion.h>
#include <sys/stat.h>
#include <unistd.h>

static struct store_rig rig;
static char path[300];

static void
make(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
    snprintf(rig.path, sizeof rig.path, "%s/store", rig.folder);
    snprintf(path, sizeof path, "%s.reserve", rig.path);
    store_file_write(rig.path, "", 0); /* whose disc is asked for its room */
}

static void
clean(void)
{
    unlink(path);
    store_rig_remove(&rig);
}

TestSuite(reserve, .init = make, .fini = clean);

/* Read: reserve.h, 8 MiB; st_blocks counts 512 bytes each (stat(2)). A file of holes would give nothing up. */
Test(reserve, it_takes_real_room_that_nobody_else_may_read)
{
    struct stat st;
    reserve_make(rig.path);
    cr_assert_eq(stat(path, &st), 0);
    cr_expect_eq(st.st_size, RESERVE_BYTES);
    cr_expect_geq((int64_t) st.st_blocks * 512, RESERVE_BYTES);
    cr_expect_eq(st.st_mode & 0777, 0600);
}

Test(reserve, it_is_given_up_once)
{
    cr_expect_not(reserve_give_up(rig.path), "there is none yet");
    reserve_make(rig.path);
    reserve_make(rig.path); /* stays as it is */
    cr_expect(reserve_give_up(rig.path));
    cr_expect_neq(access(path, F_OK), 0);
    cr_expect_not(reserve_give_up(rig.path));
}

Test(reserve, where_it_cannot_be_made_there_is_none)
{
    snprintf(rig.path, sizeof rig.path, "%s/no/such/folder/store", rig.folder);
    reserve_make(rig.path);
    cr_expect_not(reserve_give_up(rig.path));
}
