#include "report/check_report.h"

#include "base/mark.h"
#include "base/str.h"

#include <stdio.h>
#include <stdlib.h>

const char *
check_report_kind(const struct sense_profile *p)
{
    return p->kind == FRAME_KIND_MAT ? "mat" : p->kind == FRAME_KIND_CELLS ? "cells" : "switches";
}

static const char *
board_says(uint32_t code)
{
    if ((code & WIRE_STATUS_FAULT) != 0)
        return N_("one of its sensor lines is open or shorted");
    if ((code & WIRE_STATUS_LOW_SUPPLY) != 0)
        return N_("its battery or supply is low");
    if ((code & WIRE_STATUS_OVERRUN) != 0)
        return N_("it can't keep up with its own samples: lower its rate");
    return NULL;
}

struct check_line
check_report_line(const struct wire_health *wire, const struct sense_health *sense)
{
    return (struct check_line){ .n_bytes = wire->n_bytes,
                                .n_damaged = wire->n_bad_crc + wire->n_malformed + wire->n_too_long,
                                .n_repeated = wire->n_duplicates + sense->n_dropped,
                                .board_says = board_says(sense->status_code) };
}

void
check_report_put(struct json *json, const struct check_report *report, const struct sense_profile *p, const char *port)
{
    char name[16];
    json_open_object(json, NULL);
    json_text(json, "sensor", check_report_kind(p));
    json_text(json, "port", port);
    json_text(json, "profile", p->name);
    json_text(json, "verdict", check_grade_name(report->grade));
    json_number(json, "seconds_empty", report->seconds_empty);
    json_number(json, "seconds_loaded", report->seconds_loaded);
    json_bool(json, "is_calibrated", !report->is_relative && p->kind != FRAME_KIND_SWITCHES);
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        const struct check_finding *f = &report->finding[i];
        json_open_object(json, check_item_name((enum check_item) i));
        json_text(json, "verdict", check_grade_name(f->grade));
        json_number(json, "value", f->value);
        json_text(json, "unit", check_item_unit((enum check_item) i, p->kind));
        json_text(json, "says", message_english(&f->says));
        json_text(json, "todo", f->todo[0] == '\0' ? NULL : f->todo);
        json_int(json, "n_elements", f->n_elements);
        json_open_array(json, "elements");
        for (int k = 0; k < f->n_elements && k < CHECK_MAX_NAMED; k++)
            json_text(json, NULL, check_element_name(p, f->element[k], name, sizeof name));
        json_close(json);
        json_close(json);
    }
    json_close(json);
}

bool
check_report_row(const struct check_report *report, const struct sense_profile *p, const char *port, struct store_check *out)
{
    char *text = NULL;
    size_t len = 0;
    struct json json;
    FILE *f = open_memstream(&text, &len);
    *out = (struct store_check){ .id = 0 };
    if (!f)
        return false;
    json_init(&json, f);
    check_report_put(&json, report, p, port);
    const bool is_whole = fclose(f) == 0 && str_copy(out->report, sizeof out->report, text);
    free(text);
    str_copy(out->sensor_kind, sizeof out->sensor_kind, check_report_kind(p));
    str_copy(out->sensor_name, sizeof out->sensor_name, port);
    str_copy(out->grade, sizeof out->grade, check_grade_name(report->grade));
    return is_whole;
}

enum err
check_report_keep(struct store_check *row, const char *store_path, struct message *why)
{
    struct store s;
    enum err err = store_open(&s, store_path, 0);
    if (err == ERR_OK)
        err = store_check_put(&s, row);
    if (err != ERR_OK)
        *why = s.why;
    store_close(&s);
    return err;
}
