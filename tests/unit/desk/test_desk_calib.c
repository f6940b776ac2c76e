/* What the panel is told of profiles and calibrations: as many as it has room for, and how many more there are. */
#include "aid/store_rig.h"
#include "base/message_words.h"
#include "desk/desk_work.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct store_rig rig;
static struct desk_work *w;
static struct desk_answer *answer;

static void
make_rig(void)
{
    char path[160];
    w = calloc(1, sizeof *w);
    answer = calloc(1, sizeof *answer);
    cr_assert(w && answer);
    w->run = calloc(1, sizeof *w->run);
    cr_assert(w->run);
    desk_answers_init(&w->answers);
    cr_assert_eq(store_rig_make(&rig), 0);
    snprintf(path, sizeof path, "%s/underfoot", rig.folder);
    mkdir(path, 0700);
    setenv("XDG_CONFIG_HOME", rig.folder, 1);
    setenv("UNDERFOOT_DATA", rig.folder, 1);
    setenv("UNDERFOOT_PROFILES", rig.folder, 1); /* none but those made here */
}

static void
remove_rig(void)
{
    desk_answers_destroy(&w->answers);
    store_rig_remove(&rig);
    free(w->run);
    free(w);
    free(answer);
}

TestSuite(desk_calib, .init = make_rig, .fini = remove_rig);

static void
put(const char *folder, const char *name, const char *text, int n_times)
{
    char path[200];
    snprintf(path, sizeof path, "mkdir -p '%s/%s'", rig.folder, folder);
    cr_assert_eq(system(path), 0);
    snprintf(path, sizeof path, "%s/%s/%s.ini", rig.folder, folder, name);
    FILE *f = fopen(path, "w");
    cr_assert(f);
    for (int i = 0; i < n_times; i++)
        fprintf(f, text, i + 1);
    cr_assert_eq(fclose(f), 0);
}

/* 24 and 7 have room (panel_data.h), 256 are read (calib_file.h): computed. */
Test(desk_calib, profiles_and_calibrations_beyond_those_that_the_panel_holds_are_counted)
{
    for (int i = 0; i < PANEL_MAX_PROFILES + 6; i++) {
        char name[32];
        snprintf(name, sizeof name, "zones-%02d", i);
        put("underfoot/sensors", name,
            "[sensor]\nkind = switches\nrate_hz = 500\nfull_scale_counts = 1023\n[zone 1]\nname = LH\n[zone 2]\nname = RH\n; %d\n",
            1);
    }
    put("calibration", "zones-03", "[calibration %d]\nmade = 2026-03-01T09:30:00Z\nwhat = zero\nzone_offset_counts = 1 2\n", 260);
    strcpy(w->run->profile, "zones-03");
    cr_assert_eq(calibration_load(&w->run->calibration, "zones-03"), ERR_OK);
    desk_calib_show(w);
    cr_assert(desk_answers_take(&w->answers, answer) && answer->has_calibration);
    const struct panel_calibration *c = &answer->calibration;
    cr_expect_eq(c->n_profiles, PANEL_MAX_PROFILES, "%d", c->n_profiles);
    cr_expect_eq(c->n_more_profiles, 6, "%d", c->n_more_profiles);
    cr_expect_eq(c->n, PANEL_MAX_CALIBRATIONS);
    cr_expect_eq(c->n_older, 260 - PANEL_MAX_CALIBRATIONS, "%d", c->n_older);
    cr_expect_eq(atoi(message_english(&c->entry[c->n - 1])), 260, "%s", message_english(&c->entry[c->n - 1]));
}
