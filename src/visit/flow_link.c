#include "visit/flow_link.h"

void
flow_link_turn(struct visit_flow *f, struct session *s, struct visit *v, const struct verdict *news)
{
    struct command command;
    struct visit_flow_pain pain;
    if (news)
        visit_flow_feed(f, news);
    while (ring_count(&s->commands) < SESSION_N_COMMANDS && visit_flow_take_command(f, &command))
        session_command(s, &command);
    while (v->is_open && visit_flow_take_pain(f, &pain)) {
        const struct store_pain row = { (enum store_pain_when) pain.when, pain.at, pain.pain, pain.effort };
        visit_put_pain(v, &row);
    }
}
