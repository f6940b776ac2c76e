/* A plan copied into the user's own folder: under a name of its own, never over anything. */
#include "setup/plan_copy.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[64], path[PLACES_PATH_MAX];
static struct message why;

static void
make_rig(void)
{
    strcpy(folder, "/tmp/underfoot-plans-XXXXXX");
    cr_assert(mkdtemp(folder));
    setenv("XDG_CONFIG_HOME", folder, 1);
    setenv("UNDERFOOT_PROFILES", "profiles", 1);
}

static void
remove_rig(void)
{
    char command[128];
    snprintf(command, sizeof command, "rm -r %s", folder);
    cr_assert_eq(system(command), 0);
}

TestSuite(plan_copy, .init = make_rig, .fini = remove_rig);

Test(plan_copy, a_copy_has_the_plans_bytes_and_its_own_name)
{
    char command[PLACES_PATH_MAX + 64], again[PLACES_PATH_MAX];
    cr_assert_eq(plan_copy("eight-faded", "my_eight", path, &why), ERR_OK, "%s", message_english(&why));
    cr_assert(strstr(path, "/underfoot/plans/my_eight.ini"), "%s", path);
    snprintf(command, sizeof command, "cmp -s %s profiles/plans/eight-faded.ini", path);
    cr_assert_eq(system(command), 0);
    cr_assert_eq(places_find("plans", "my_eight", again, sizeof again, &why), ERR_OK);
    cr_assert_str_eq(again, path);
}

Test(plan_copy, nothing_is_written_over_or_hidden)
{
    char text[32] = "", again[PLACES_PATH_MAX];
    cr_assert_eq(plan_copy("eight-faded", "mine", path, &why), ERR_OK, "%s", message_english(&why));
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs("edited", f) >= 0 && fclose(f) == 0);
    cr_assert_eq(plan_copy("eight-faded", "mine", again, &why), ERR_USAGE);
    cr_assert(strstr(message_english(&why), "There is a plan mine already"), "%s", message_english(&why));
    f = fopen(path, "r");
    cr_assert(f && fgets(text, sizeof text, f));
    fclose(f);
    cr_assert_str_eq(text, "edited");
    cr_assert_eq(plan_copy("mine", "eight-faded", again, &why), ERR_USAGE, "a shipped plan would be hidden");
}

Test(plan_copy, a_name_that_is_none_and_a_plan_that_is_not_there_are_refused)
{
    static const char *const names[] = { "", "../x", "a/b", ".x", "-x", "a b", "x.ini", "\xC3\xA9",
                                         "a_name_that_is_a_good_deal_longer_than_one_wants" };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        message_init(&why, MESSAGE_NONE);
        cr_assert_eq(plan_copy("eight-faded", names[i], path, &why), ERR_USAGE, "%s", names[i]);
        cr_expect_not_null(strstr(message_english(&why), "is no name for a plan"), "%s: %s", names[i], message_english(&why));
    }
    cr_assert_eq(plan_copy("nosuch", "mine", path, &why), ERR_GONE);
    setenv("XDG_CONFIG_HOME", "", 1);
    setenv("HOME", "", 1);
    cr_assert_eq(plan_copy("eight-faded", "mine", path, &why), ERR_USAGE);
}
