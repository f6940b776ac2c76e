#include "visit/away.h"

#include "base/str.h"

#include <stdio.h>
#include <string.h>

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
    a->says[0] = 0;
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
    char says[VERDICT_MESSAGE_MAX], names[VERDICT_MESSAGE_MAX];
    if (!away_is_long(a, now))
        return false;
    const size_t len = strlen(path);
    const bool is_short = len <= PATH_SHOWN_MAX;
    source_list(&there);
    const int n = snprintf(says, sizeof says, "%s%s stays away. Check its cable and its power.", is_short ? "" : "...",
                           is_short ? path : path + len - PATH_SHOWN_MAX);
    if (there.n == 0)
        str_append(says, sizeof says, " No other port is there.");
    else {
        static const char there_now[] = " There now: ";
        const int n_more = source_names(&there, names, sizeof says - (size_t) n - sizeof there_now - sizeof " and 16 more");
        str_append(says, sizeof says, there_now);
        str_append(says, sizeof says, names);
        if (n_more > 0) {
            char more[24];
            snprintf(more, sizeof more, " and %d more", n_more);
            str_append(says, sizeof says, more);
        }
        str_append(says, sizeof says, ".");
    }
    if (strcmp(says, a->says) == 0)
        return false;
    memcpy(a->says, says, sizeof says);
    return true;
}
