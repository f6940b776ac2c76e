#include "care/homecoming.h"

#include "care/restore.h"
#include "store/spill.h"

struct coming {
    void (*tell)(void *context, const struct message *m);
    void *context;
};

static enum err
leave_out(void *context, struct store *home, struct store *spill)
{
    struct message why;
    int n = 0;
    (void) context;
    return restore_leave_out_forgotten(spill, home->path, &n, &why);
}

static void
tell_on(void *context, const struct message *m)
{
    const struct coming *c = context;
    c->tell(c->context, m);
}

void
homecoming(struct store *home, void (*tell)(void *context, const struct message *m), void *context)
{
    struct coming c = { tell, context };
    spill_take_all(home, leave_out, tell_on, &c);
}
