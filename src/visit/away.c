#include "visit/away.h"

#include <stdio.h>
#include <string.h>

#define NAMES_SHOWN_MAX 80 /* the rest is counted: it has to fit the screen */
#define PATH_SHOWN_MAX 60 /* of a long name the end tells more: names by maker all begin alike */

void
away_init(struct away *a)
{
    memset(a, 0, sizeof *a);
    a->after_ms = AWAY_AFTER_MS;
}

void
away_begin(struct away *a, struct host_time now)
{
    a->since = now;
    message_init(&a->says, MESSAGE_NONE);
    source_list(&a->before);
}

bool
away_is_long(const struct away *a, struct host_time now)
{
    return units_host_since_us(now, a->since) >= a->after_ms * UNITS_US_PER_MS;
}

bool
away_has_news(struct away *a, const char *path, struct host_time now)
{
    struct source_there there;
    struct message says;
    char names[NAMES_SHOWN_MAX], shown[PATH_SHOWN_MAX + sizeof "…"];
    if (!away_is_long(a, now))
        return false;
    const size_t len = strlen(path);
    const bool is_short = len <= PATH_SHOWN_MAX;
    source_list(&there);
    snprintf(shown, sizeof shown, "%s%s", is_short ? "" : "…", is_short ? path : path + len - PATH_SHOWN_MAX);
    const int n_more = source_names(&there, names, sizeof names);
    if (there.n == 0)
        message_tell(&says, MESSAGE_SENSOR_STAYS_AWAY, message_path(shown));
    else if (n_more == 0)
        message_tell(&says, MESSAGE_SENSOR_STAYS_AWAY_AMONG, message_path(shown), names);
    else
        message_tell(&says, MESSAGE_SENSOR_STAYS_AWAY_AMONG_MORE, message_path(shown), names, n_more);
    if (message_is_same(&says, &a->says))
        return false;
    a->says = says;
    return true;
}
