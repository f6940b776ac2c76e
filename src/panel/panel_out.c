/* panel_out.c - what the panel asks for, in order, and what it says. */
#include "panel/panel_parts.h"

#include <assert.h>
#include <string.h>

bool
panel_is_full(const struct panel *p)
{
    return p->out.n_requests > PANEL_N_REQUESTS - PANEL_N_RESERVED;
}

struct panel_request *
panel_want(struct panel *p, enum panel_request_kind kind)
{
    assert(p->out.n_requests < PANEL_N_REQUESTS);
    struct panel_request *r = &p->out.request[p->out.n_requests++];
    memset(r, 0, sizeof *r);
    r->kind = kind;
    r->plan = -1;
    if (p->open.has_case)
        r->runner = p->open.kase.runner;
    return r;
}

const struct panel_request *
panel_first_request(const struct panel *p)
{
    return p->out.n_requests > 0 ? &p->out.request[0] : NULL;
}

void
panel_drop_request(struct panel *p)
{
    assert(p->out.n_requests > 0);
    memmove(p->out.request, p->out.request + 1, (size_t) --p->out.n_requests * sizeof *p->out.request);
}

bool
panel_take_request(struct panel *p, struct panel_request *out)
{
    if (p->out.n_requests == 0)
        return false;
    *out = p->out.request[0];
    panel_drop_request(p);
    return true;
}

void
panel_say(struct panel *p, const char *english)
{
    if (english[0])
        message_tell(&p->out.message, MESSAGE_PANEL_SAYS, message_word(english));
    else
        message_init(&p->out.message, MESSAGE_NONE);
    p->n_changes++;
}

void
panel_tell(struct panel *p, const struct message *m)
{
    p->out.message = *m;
    p->n_changes++;
}
