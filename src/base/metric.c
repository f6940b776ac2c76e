#include "base/metric.h"

#include <assert.h>
#include <string.h>

static const struct metric_info METRIC_TABLE[METRIC_COUNT] = {
#define METRIC_ROW(id, name, unit, digits) [METRIC_##id] = { name, unit, digits },
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
