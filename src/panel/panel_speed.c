/* panel_speed.c - the belt's speed as it is read off the treadmill: before the run, and in it. */
#include "panel/panel_parts.h"

#include "base/mark.h"
#include "base/str.h"

#include <math.h>
#include <stdio.h>

static bool
is_running(const struct panel *p)
{
    return p->visit.is_on && p->visit.flow.phase == VISIT_FLOW_RUN;
}

static bool
is_over(const struct panel *p)
{
    return p->visit.is_on && p->visit.flow.phase > VISIT_FLOW_RUN;
}

double
panel_speed_m_s(const struct panel *p)
{
    return is_running(p) ? p->visit.verdict.belt_speed_m_s : p->open.speed_m_s;
}

/* False, with a word, when it can't be. */
static bool
enter(struct panel *p, double m_s)
{
    if (!(m_s >= PANEL_SPEED_MIN_M_S && m_s <= PANEL_SPEED_MAX_M_S)) {
        panel_say(p, N_("The belt's speed lies between 0.1 and 12 m/s."));
        return false;
    }
    p->open.speed_m_s = m_s;
    p->open.is_speed_entered = true;
    if (is_running(p)) {
        visit_flow_belt_speed(&p->visit.flow, m_s);
        panel_visit_sync(p);
    }
    return true;
}

void
panel_speed_do(struct panel *p, enum panel_action action)
{
    const double from = panel_speed_m_s(p);
    if (panel_speed_is_measured(p))
        panel_say(p, N_("The belt's speed is measured by the mat."));
    else if (is_over(p))
        panel_say(p, N_("The run is over: its belt speeds are kept."));
    else if (action == PANEL_DO_SPEED || isnan(from)) { /* nothing to go on from: it is typed */
        p->ask.typed[0] = '\0';
        if (!isnan(from))
            snprintf(p->ask.typed, sizeof p->ask.typed, "%.1f", from);
        p->context = PANEL_IN_SPEED;
    } else
        enter(p, 0.1 * round(10 * from) + (action == PANEL_DO_FASTER ? 0.1 : -0.1));
}

void
panel_speed_typed(struct panel *p)
{
    char text[PANEL_CODE_MAX];
    double m_s = (double) NAN;
    str_copy(text, sizeof text, p->ask.typed);
    for (char *c = text; *c; c++)
        if (*c == ',')
            *c = '.';
    if (!str_to_double(text, &m_s))
        m_s = (double) NAN;
    if (enter(p, m_s))
        p->context = (enum panel_context) p->page;
}

void
panel_speed_begin_run(struct panel *p)
{
    if (p->open.is_speed_entered && !panel_speed_is_measured(p))
        panel_want(p, PANEL_WANTS_COMMAND)->command =
            (struct command){ .kind = COMMAND_BELT_SPEED, .number = p->open.speed_m_s };
}
