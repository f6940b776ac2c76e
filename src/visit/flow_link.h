/* flow_link.h - ties a visit's flow (coach/visit_flow.h) to the session and the store: one call a turn.
 *
 * The panel, or a script, talks to the flow alone: visit_flow_next(), visit_flow_pain(), its keys. The session must have
 * been set up with coach_config.is_waiting.
 * Threads: the drawing one.
 */
#ifndef VISIT_FLOW_LINK_H
#define VISIT_FLOW_LINK_H

#include "coach/visit_flow.h"
#include "live/session.h"
#include "visit/visit.h"

/* The newest verdict to the flow (NULL: no news), its commands to the session, its pain records to the visit once that is
 * open. Commands that find no room stay for the next turn. */
void flow_link_turn(struct visit_flow *f, struct session *s, struct visit *v, const struct verdict *news);

#endif
