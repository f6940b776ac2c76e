/* panel_out.c - what the panel asks for, in order, and what it says. */
#include "panel/panel_parts.h"

#include "base/str.h"

#include <string.h>

struct panel_request *
panel_want(struct panel *p, enum panel_request_kind kind)
{
    if (p->out.n_requests == PANEL_N_REQUESTS) { /* nobody takes them: the newest matter */
        memmove(p->out.request, p->out.request + 1, (PANEL_N_REQUESTS - 1) * sizeof *p->out.request);
        p->out.n_requests--;
    }
    struct panel_request *r = &p->out.request[p->out.n_requests++];
    memset(r, 0, sizeof *r);
    r->kind = kind;
    r->plan = -1;
    if (p->open.has_case)
        r->runner = p->open.kase.runner;
    return r;
}

bool
panel_take_request(struct panel *p, struct panel_request *out)
{
    if (p->out.n_requests == 0)
        return false;
    *out = p->out.request[0];
    memmove(p->out.request, p->out.request + 1, (size_t) --p->out.n_requests * sizeof *p->out.request);
    return true;
}

void
panel_say(struct panel *p, const char *message)
{
    str_copy(p->out.message, sizeof p->out.message, message ? message : "");
    p->n_changes++;
}
