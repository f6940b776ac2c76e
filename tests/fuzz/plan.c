/* plan.c - a course of visits as a physio may write it, and the plan of each of its visits. */
#include "coach/plan_file.h"
#include "base/message.h"
#include "fuzz.h"

#include <math.h>

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct plan_file file;
    static struct plan plan;
    char path[FUZZ_PATH_MAX];
    struct message why = { 0 };
    fuzz_file(path, "course.ini", data, size);
    const enum err e = plan_file_load(&file, path, &why);
    fuzz_must(e == ERR_OK || !message_is_none(&why), "a plan is refused without a word");
    if (e != ERR_OK)
        return 0;
    fuzz_must(file.n_visits >= 1 && file.n_visits <= PLAN_FILE_MAX_VISITS, "a plan without visits, or with too many");
    for (int v = 1; v <= file.n_visits; v++) {
        plan_file_visit_plan(&file, v, v % 2 ? 2.8 : (double) NAN, &plan);
        fuzz_must(plan.n_blocks >= 1, "a visit without blocks");
        (void) plan_file_coached_min(&file, v);
        const double shown = plan_file_shown_share(&file, v);
        fuzz_must(isnan(shown) || (shown >= 0 && shown <= 1), "a share beyond 0 to 1");
        (void) plan_file_next_visit(&file, v, v % 2);
    }
    fuzz_must(isfinite(plan_file_course_min(&file)), "a course of no known length");
    return 0;
}
