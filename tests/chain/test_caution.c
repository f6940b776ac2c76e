/* What is said before a run: the same cautions with a plan and without, once; the pain limit and the pain. And what the
 * summary says after it. */
#include "aid/cells_recording.h"
#include "aid/process.h"
#include "aid/store_rig.h"
#include "cli/mimic.h"
#include "coach/visit_flow.h"
#include "link/recording.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_MAX 20000

static struct store_rig rig;
static char text[TEXT_MAX], complaint[TEXT_MAX];

static void
make_rig(void)
{
    char path[160];
    setenv("UNDERFOOT_PROFILES", "profiles", 1);
    cr_assert_eq(store_rig_make(&rig), 0);
    snprintf(path, sizeof path, "%s/cells.rec", rig.folder);
    cells_recording_make(path, 2);
}

static void
remove_rig(void)
{
    store_rig_remove(&rig);
}

TestSuite(caution, .init = make_rig, .fini = remove_rig, .timeout = 500);

static int
run(const char *words)
{
    struct process p;
    const int code = process_run_words(&p, rig.folder, 30000, words);
    process_read(p.out_path, text, sizeof text);
    process_read(p.err_path, complaint, sizeof complaint);
    return code;
}

static int
count(const char *where, const char *what)
{
    int n = 0;
    for (const char *at = where; (at = strstr(at, what)); at += strlen(what))
        n++;
    return n;
}

static void
expect_cautions(void)
{
    for (int i = 0; visit_flow_caution(i); i++)
        cr_assert_eq(count(complaint, visit_flow_caution(i)), 1, "'%s' in: %s", visit_flow_caution(i), complaint);
    cr_assert_eq(count(text, "Not a medical device, no diagnosis"), 1, "%s", text);
}

Test(caution, a_run_with_a_plan_and_one_without_have_the_same_cautions_once)
{
    cr_assert_eq(run("live --headless --seconds 0.2 --port %s/cells.rec"), 0, "%s", complaint);
    expect_cautions();
    cr_assert_eq(run("live --headless --seconds 0.2 --port %s/cells.rec --plan underfoot-ten-to-twenty"), 0, "%s", complaint);
    expect_cautions();
    cr_assert_eq(run("live --headless --seconds 0.2 --port %s/cells.rec --target cadence_spm=170:180"), 0, "%s", complaint);
    expect_cautions();
}

Test(caution, the_pain_limit_is_named_or_that_there_is_none)
{
    cr_assert_eq(run("runner add R-070 --pain-limit 4"), 0, "%s", complaint);
    cr_assert_eq(run("runner add R-071"), 0, "%s", complaint);
    static const struct {
        const char *words, *says;
    } rows[] = {
        { "--runner R-070", "The pain limit of R-070 is 4 of 10" },
        { "--runner R-070", "Ask for the pain now" },
        { "--runner R-070 --pain 3", "Pain before the run: 3 of 10." },
        { "--runner R-071", "No pain limit is set for R-071: any pain asks for a decision" },
        { "--runner R-071 --pain 9", "Pain before the run: 9 of 10, and no limit is set. Decide" },
        { "--runner R-071 --pain 0", "Pain before the run: 0 of 10." },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char line[160];
        snprintf(line, sizeof line, "live --headless --seconds 0.2 --port %%s/cells.rec %s", rows[i].words);
        cr_assert_eq(run(line), 0, "%s: %s", rows[i].words, complaint);
        cr_assert_eq(count(complaint, rows[i].says), 1, "'%s' in: %s", rows[i].says, complaint);
    }
}

Test(caution, a_start_that_is_refused_says_that_alone)
{
    cr_assert_eq(run("live --headless --port %s/nothing"), 1);
    cr_assert(strstr(complaint, "nothing is not there"), "%s", complaint);
    cr_assert_eq(process_count_lines(complaint), 1, "%s", complaint);
}
