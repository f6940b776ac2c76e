/* check_limits.c - from where on a figure is to be minded or bad, and what to do then. */
#include "base/mark.h"
#include "setup/check_parts.h"

#include <stddef.h>

/* mind, bad: at or above. The force limits are of newton, for a contact threshold of 50 N; of switches,
 * shares of full scale, for an on_ratio of 0.5. A sign does not matter. Noise: five standard deviations at
 * the bad limit reach the threshold. Drift: the engine follows a slow one; a minute's worth at the bad limit
 * passes the threshold. */
static const struct check_limits LIMITS[CHECK_N_ITEMS] = {
    [CHECK_RATE] = { N_("rate"), "Hz", NULL, 2, 10, 2, 10, /* percent off the nominal */
                     N_("correct rate_hz in the profile, or the board's own rate; a slow line may hold it up") },
    [CHECK_JITTER] = { N_("jitter"), "ms", NULL, 10, 30, 10, 30, /* percent of a period */
                       N_("times of contact are off by as much: let the board stamp its samples by a timer") },
    [CHECK_CLOCK] = { N_("clock"), "%", NULL, 1, 5, 1, 5,
                      N_("cadence and contact times are off by as much: a crystal on the board, or a steady "
                      "supply") },
    [CHECK_LOST] = { N_("lost"), "%", NULL, 0.1, 2, 0.1, 2,
                     N_("a shorter cable, a higher baud rate on both sides, or a lower sample rate") },
    [CHECK_LINE] = { N_("line"), N_("units"), NULL, 1, 1e9, 1, 1e9,
                     N_("check the cable, its ground and the baud rate; keep it away from the treadmill's "
                     "motor") },
    [CHECK_NOISE] = { N_("noise"), "N", N_("of full"), 5, 10, 0.03, 0.1, N_("check ground and supply") },
    [CHECK_OFFSET] = { N_("offset"), "N", N_("of full"), 20, 100, 0.1, 0.3, N_("take everything off it, then zero it") },
    [CHECK_DRIFT] = { N_("drift"), "N/min", N_("of full/min"), 10, 50, 0.02, 0.2,
                      N_("let it warm up for some minutes with somebody on it, then zero it") },
    [CHECK_STUCK] = { N_("stuck"), N_("elements"), NULL, 1, 1, 1, 1, N_("look for a short at these") },
    [CHECK_DEAD] = { N_("dead"), N_("elements"), NULL, 1, 1e9, 1, 1, N_("look for a broken line at these") },
    [CHECK_SATURATED] = { N_("saturated"), N_("% of frames"), NULL, 1e-9, 10, 1e-9, 10,
                          N_("peak forces are cut off: a smaller series resistor, or a lower gain") },
    [CHECK_CROSSTALK] = { N_("crosstalk"), "%", NULL, 3.6, 10, 3.6, 10,
                          N_("hold idle rows and columns at one potential; landing place and foot outline are "
                          "blurred") },
};

const struct check_limits *
check_limits(enum check_item item)
{
    return &LIMITS[item];
}

const char *
check_item_name(enum check_item item)
{
    return LIMITS[item].name;
}

const char *
check_grade_name(enum check_grade grade)
{
    static const char *const names[] = { N_("untested"), N_("good"), N_("mind"), N_("bad") };
    return names[grade];
}

const char *
check_item_unit(enum check_item item, enum frame_kind kind)
{
    const char *own = LIMITS[item].unit_switches;
    return kind == FRAME_KIND_SWITCHES && own != NULL ? own : LIMITS[item].unit;
}

/* Only a mat has noise_counts and a list of dead elements in its profile. */
const char *
check_todo(enum check_item item, enum frame_kind kind, bool has_elements, bool is_occupied)
{
    if (is_occupied)
        return N_("get off, stop the belt, and check again");
    if (item == CHECK_NOISE && kind == FRAME_KIND_SWITCHES)
        return N_("check ground and supply, and the zones' wires");
    if (item == CHECK_NOISE && kind == FRAME_KIND_CELLS)
        return N_("check ground and supply, and that nothing touches the deck or the cells' wires");
    if (item == CHECK_NOISE && kind == FRAME_KIND_MAT)
        return has_elements ? N_("list these as dead in the profile, or raise noise_counts there; check ground and supply")
                            : N_("raise noise_counts in the profile; check ground and supply");
    if (item == CHECK_STUCK && kind == FRAME_KIND_MAT)
        return N_("look for a short at these; until mended, list them as dead in the profile");
    if (item == CHECK_DEAD && kind == FRAME_KIND_MAT)
        return N_("look for a broken line at these; until mended, list them as dead in the profile");
    return LIMITS[item].todo;
}
