#include "desk/desk_store.h"

#include "base/str.h"
#include "store/place.h"

#include <assert.h>
#include <stdio.h>

void
desk_store_close(struct desk_store *d)
{
    if (d->is_open)
        store_close(&d->store);
    d->is_open = false;
    spill_close(&d->spill);
}

enum err
desk_store_get(struct desk_store *d, struct store **out, bool *is_new)
{
    *is_new = false;
    if (d->spill.is_open) {
        *out = &d->spill.store;
        return ERR_OK;
    }
    *out = &d->store;
    if (d->is_open) {
        assert(place_is_idle(&d->store)); /* no job leaves anything open: it would hold up the log for everybody */
        if (place_look(&d->store) != PLACE_IS_OWN)
            return ERR_GONE;
        if (place_is_current(&d->store))
            return ERR_OK;
        desk_store_close(d);
    }
    const enum err err = store_open(&d->store, d->aside[0] ? d->aside : d->path, STORE_UNCHECKED);
    d->is_open = err == ERR_OK;
    *is_new = d->is_open;
    return err;
}

bool
desk_store_is_gone(struct desk_store *d)
{
    return d->is_open && place_look(&d->store) != PLACE_IS_OWN;
}

bool
desk_store_go_aside(struct desk_store *d, const char *aside)
{
    const struct spill_ask ask = { .is_orphan = true };
    if (aside)
        spill_store_path(aside, d->aside);
    else if (spill_open(&d->spill, &d->store, &ask) != ERR_OK)
        return false;
    if (d->is_open)
        store_close(&d->store);
    d->is_open = false;
    return true;
}

const char *
desk_store_aside(const struct desk_store *d)
{
    return d->spill.is_open ? d->spill.store.path : d->aside[0] ? d->aside : NULL;
}
