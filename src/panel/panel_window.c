/* panel_window.c - the window that is held of a list of any length: asked for around the chosen row, in time. */
#include "panel/panel_parts.h"

#include "base/str.h"

#include <string.h>

/* The next window is asked for when the choice comes so near to the end of what is held: two seconds of a held key, at some
 * 30 rows a second. */
#define MARGIN 64
_Static_assert(4 * MARGIN <= PANEL_MAX_RUNNERS, "a window holds what is near its middle");

const struct panel_runner *
panel_row(const struct panel *p, int at)
{
    const struct panel_runners *r = &p->list.runners;
    return at >= r->offset && at < r->offset + r->n ? &r->runner[at - r->offset] : NULL;
}

bool
panel_list_is_read(const struct panel *p)
{
    const struct panel_list *l = &p->list;
    return l->has_runners && !l->finding[0] && strcmp(l->runners.search, l->search) == 0 &&
           (l->runners.total == 0 || panel_row(p, l->at));
}

/* Nobody while the list is read for whom to choose: a key must not open the one who was chosen before. */
const struct panel_runner *
panel_chosen(const struct panel *p)
{
    return panel_list_is_read(p) ? panel_row(p, p->list.at) : NULL;
}

/* One that waits already is asked otherwise: a list that nobody looks at any more is not read. */
static struct panel_request *
want_list(struct panel *p)
{
    const int n = p->out.n_requests;
    return n > 0 && p->out.request[n - 1].kind == PANEL_WANTS_RUNNERS ? &p->out.request[n - 1] : panel_want(p, PANEL_WANTS_RUNNERS);
}

void
panel_window_ask(struct panel *p, const char *code)
{
    struct panel_list *l = &p->list;
    struct panel_request *r = want_list(p);
    str_copy(l->finding, sizeof l->finding, code);
    l->asked_offset = l->at > PANEL_MAX_RUNNERS / 2 ? l->at - PANEL_MAX_RUNNERS / 2 : 0;
    memset(&r->runner, 0, sizeof r->runner);
    str_copy(r->runner.code, sizeof r->runner.code, code);
    str_copy(r->text, sizeof r->text, l->search);
    r->number = l->asked_offset;
}

/* The window goes with the choice. */
static void
follow(struct panel *p)
{
    const struct panel_list *l = &p->list;
    const struct panel_runners *r = &l->runners;
    const int from = l->at > MARGIN ? l->at - MARGIN : 0, end = l->at + MARGIN < r->total ? l->at + MARGIN : r->total;
    const bool is_held = from >= r->offset && end <= r->offset + r->n;
    const bool is_coming = from >= l->asked_offset && end <= l->asked_offset + PANEL_MAX_RUNNERS;
    if (!is_held && !(is_coming && panel_row(p, l->at))) /* one that failed is asked for again at the latest there */
        panel_window_ask(p, l->finding);
}

void
panel_window_move(struct panel *p, int to)
{
    struct panel_list *l = &p->list;
    const int last = l->runners.total > 0 ? l->runners.total - 1 : 0;
    l->at = to < 0 ? 0 : to > last ? last : to;
    l->finding[0] = '\0';
    if (strcmp(l->runners.search, l->search) == 0)
        follow(p);
    else /* what is held is of an older search, whose answer may never come */
        panel_window_ask(p, "");
}

void
panel_window_search(struct panel *p, const char *code)
{
    p->list.at = p->list.top = 0;
    panel_window_ask(p, code);
}

/* The same runner stays chosen, wherever in the list others came or went. */
static void
choose_again(struct panel_list *l, const char *code)
{
    const struct panel_runners *r = &l->runners;
    if (l->finding[0] && strcmp(r->finding, l->finding) == 0) {
        l->at = r->at >= 0 ? r->at : l->at;
        l->finding[0] = '\0';
        return;
    }
    for (int i = 0; i < r->n && code[0]; i++)
        if (strcmp(r->runner[i].code, code) == 0)
            l->at = r->offset + i;
}

void
panel_set_runners(struct panel *p, const struct panel_runners *r)
{
    struct panel_list *l = &p->list;
    char code[PANEL_CODE_MAX] = "";
    if (strcmp(r->search, l->search) != 0) /* typed on since: the answer to that follows */
        return;
    if (panel_chosen(p))
        str_copy(code, sizeof code, panel_chosen(p)->code);
    l->runners = *r;
    l->has_runners = true;
    l->asked_offset = r->offset;
    choose_again(l, code);
    if (l->at >= r->total)
        l->at = r->total > 0 ? r->total - 1 : 0;
    if (r->total > 0)
        follow(p);
    p->n_changes++;
}

int
panel_list_show(struct panel *p, int n_fit)
{
    struct panel_list *l = &p->list;
    const int last = l->runners.total > n_fit ? l->runners.total - n_fit : 0;
    l->n_fit = n_fit;
    if (l->at < l->top)
        l->top = l->at;
    if (l->at >= l->top + n_fit)
        l->top = l->at - n_fit + 1;
    if (l->top > last)
        l->top = last;
    return l->top;
}
