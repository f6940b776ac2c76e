#include "report/visit_json.h"

#include "paper/local_time.h"

void
visit_json_when(struct json *j, const struct store_visit *v)
{
    char text[LOCAL_TIME_MAX];
    json_text(j, "started", local_time_iso(text, v->started_utc_ms, v->zone_offset_min));
    json_text(j, "ended", v->ended_utc_ms == 0 ? NULL : local_time_iso(text, v->ended_utc_ms, v->zone_offset_min));
    json_text(j, "state", v->is_finished ? "finished" : "unfinished");
}

void
visit_json_in_band(struct json *j, int n_shown, double shown_pct, int n_withheld, double withheld_pct)
{
    json_int(j, "n_shown", n_shown);
    json_number(j, "in_band_shown_pct", shown_pct);
    json_int(j, "n_withheld", n_withheld);
    json_number(j, "in_band_withheld_pct", withheld_pct);
}
