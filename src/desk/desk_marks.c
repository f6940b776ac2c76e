#include "desk/desk_marks.h"

void
desk_marks_put(struct desk_marks *m, const struct run_said *said)
{
    const int group = m->n[0] > 0;
    if (group == 0)
        m->n_refused = said->n_refused; /* what was refused before is none of these */
    m->n[group]++;
    m->last[group] = said->n_put;
}

bool
desk_marks_take(struct desk_marks *m, const struct run_said *said, int *n_kept, int *n_refused)
{
    if (m->n[0] == 0 || said->n_done < m->last[0])
        return false;
    const bool is_refused = said->n_refused > m->n_refused;
    *n_kept = is_refused ? 0 : m->n[0];
    *n_refused = is_refused ? m->n[0] : 0;
    m->n_refused = said->n_refused;
    m->n[0] = m->n[1];
    m->last[0] = m->last[1];
    m->n[1] = 0;
    return true;
}
