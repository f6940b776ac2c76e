#include "base/metric.h"

#include "base/str.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct metric_info METRIC_TABLE[METRIC_COUNT] = {
#define METRIC_ROW(id, name, unit, digits, definition) [METRIC_##id] = { name, unit, digits, definition },
    METRIC_LIST(METRIC_ROW)
#undef METRIC_ROW
};

const struct metric_info *
metric_info(enum metric m)
{
    assert((int) m >= 0 && m < METRIC_COUNT);
    return &METRIC_TABLE[m];
}

enum metric
metric_by_name(const char *name)
{
    for (int m = 0; m < METRIC_COUNT; m++)
        if (strcmp(METRIC_TABLE[m].name, name) == 0)
            return (enum metric) m;
    return METRIC_COUNT;
}

struct metric_definitions
metric_definitions_today(void)
{
    struct metric_definitions d;
    for (int m = 0; m < METRIC_COUNT; m++)
        d.of[m] = METRIC_TABLE[m].definition;
    return d;
}

const char *
metric_definitions_write(const struct metric_definitions *d, char out[METRIC_DEFINITIONS_MAX])
{
    char word[64];
    out[0] = '\0';
    for (int m = 0; m < METRIC_COUNT; m++)
        if (d->of[m] != 1) {
            snprintf(word, sizeof word, "%s%s=%d", out[0] ? " " : "", METRIC_TABLE[m].name, d->of[m]);
            str_append(out, METRIC_DEFINITIONS_MAX, word);
        }
    return out;
}

struct metric_definitions
metric_definitions_read(const char *text)
{
    struct metric_definitions d;
    for (int m = 0; m < METRIC_COUNT; m++)
        d.of[m] = 1;
    while (*text) {
        char name[64];
        const size_t len = strcspn(text, "= ");
        if (len < sizeof name && text[len] == '=') {
            memcpy(name, text, len);
            name[len] = '\0';
            const enum metric m = metric_by_name(name);
            if (m != METRIC_COUNT)
                d.of[m] = (int) strtol(text + len + 1, NULL, 10);
        }
        text += strcspn(text, " ");
        text += *text == ' ';
    }
    return d;
}
