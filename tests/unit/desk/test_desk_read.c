/* What the panel is told of the store and of the folders with plans. */
#include "desk/desk_read.h"

#include "aid/store_rig.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct store_rig rig;
static struct store store;
static struct panel_case *kase;

static void
put_plan(const char *name, const char *text)
{
    char path[200];
    snprintf(path, sizeof path, "mkdir -p %s/underfoot/plans", rig.folder);
    cr_assert_eq(system(path), 0);
    snprintf(path, sizeof path, "%s/underfoot/plans/%s.ini", rig.folder, name);
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs(text, f) >= 0 && fclose(f) == 0);
}

static void
make_rig(void)
{
    struct store_runner r = store_runner_default("R-014");
    kase = calloc(1, sizeof *kase);
    cr_assert(kase);
    cr_assert_eq(store_rig_make(&rig), 0);
    setenv("XDG_CONFIG_HOME", rig.folder, 1);
    setenv("UNDERFOOT_PROFILES", "profiles", 1);
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_OK, "%s", store.why);
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK, "%s", store.why);
}

static void
remove_rig(void)
{
    store_close(&store);
    store_rig_remove(&rig);
    free(kase);
}

TestSuite(desk_read, .init = make_rig, .fini = remove_rig);

static const struct panel_plan *
find(const char *id)
{
    for (int i = 0; i < kase->n_plans; i++)
        if (strcmp(kase->plan[i].id, id) == 0)
            return &kase->plan[i];
    return NULL;
}

Test(desk_read, a_wrong_plan_is_listed_with_its_line_and_what_is_wrong_and_is_not_proposed)
{
    put_plan("underfoot-a-broken", "[plan]\nname = Broken\n\n[visit 1]\nblock = coached for ever\n");
    put_plan("mine", "[plan]\nname = Mine\n\n[visit 1]\nblock = coached minutes 10 shown 50%\n");
    cr_assert_eq(desk_read_case(&store, "R-014", kase), ERR_OK, "%s", store.why);
    const struct panel_plan *wrong = find("underfoot-a-broken"), *mine = find("mine");
    cr_assert(wrong && mine);
    cr_assert_eq(strncmp(wrong->why, "underfoot-a-broken.ini:5: ", 26), 0, "%s", wrong->why);
    cr_assert(wrong->is_own && mine->is_own && mine->why[0] == '\0' && mine->n_visits == 1);
    cr_assert(kase->plan_now >= 0 && kase->plan[kase->plan_now].why[0] == '\0', "%d", kase->plan_now);
}
