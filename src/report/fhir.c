#include "report/fhir.h"

#include "report/json.h"
#include "paper/local_time.h"

#include <assert.h>
#include <inttypes.h>
#include <math.h>
#include <string.h>

#define UUID_MAX 64

struct maker {
    struct json j;
    const struct course *c;
    const struct course_visit *v;
    char start[LOCAL_TIME_MAX], end[LOCAL_TIME_MAX], subject[UUID_MAX];
};

static const struct {
    const char *unit, *ucum;
} UCUM[] = {
    { "s", "s" },     { "ms", "ms" },         { "steps/min", "{steps}/min" }, { "1", "1" },     { "BW", "{BW}" },
    { "%", "%" },     { "BW/s", "{BW}/s" },   { "yes/no", "%" },              { "mm", "mm" },   { "kN/m", "kN/m" },
    { "m/s", "m/s" }, { "deg", "deg" },       { "BW s", "{BW}.s" },
};

const char *
fhir_ucum(enum metric m)
{
    for (size_t i = 0; i < sizeof UCUM / sizeof *UCUM; i++)
        if (strcmp(metric_info(m)->unit, UCUM[i].unit) == 0)
            return UCUM[i].ucum;
    assert(false && "a unit without a UCUM code");
    return "1";
}

/* FNV-1a (Fowler, Noll, Vo), 64 bits. */
static uint64_t
hash(uint64_t h, const char *text)
{
    for (; *text; text++)
        h = (h ^ (unsigned char) *text) * UINT64_C(0x100000001b3);
    return h;
}

/* A UUID of version 8 (RFC 9562: of the maker's own making) from runner, visit and what it is of. */
static void
make_uuid(const struct maker *k, bool is_of_visit, const char *what, char out[UUID_MAX])
{
    char text[160];
    snprintf(text, sizeof text, "%s %" PRId64 " %" PRId64 " %" PRId64 " %s", k->c->runner.code, k->c->runner.created_utc_ms,
             is_of_visit ? k->v->visit.id : 0, is_of_visit ? k->v->visit.started_utc_ms : 0, what);
    const uint64_t a = hash(UINT64_C(0xcbf29ce484222325), text);
    const uint64_t b = hash(hash(a ^ UINT64_C(0x9e3779b97f4a7c15), "second half "), text);
    snprintf(out, UUID_MAX, "urn:uuid:%08" PRIx64 "-%04" PRIx64 "-8%03" PRIx64 "-%04" PRIx64 "-%012" PRIx64, a >> 32,
             a >> 16 & 0xffff, a & 0xfff, (b >> 48 & 0x3fff) | 0x8000, b & UINT64_C(0xffffffffffff));
}

static void
open_entry(struct maker *k, bool is_of_visit, const char *what, const char *type)
{
    char uuid[UUID_MAX];
    make_uuid(k, is_of_visit, what, uuid);
    json_open_object(&k->j, NULL);
    json_text(&k->j, "fullUrl", uuid);
    json_open_object(&k->j, "resource");
    json_text(&k->j, "resourceType", type);
}

static void
close_entry(struct maker *k)
{
    json_close(&k->j);
    json_close(&k->j);
}

static void
put_code(struct maker *k, const char *name, const char *code, const char *text)
{
    json_open_object(&k->j, name);
    json_open_array(&k->j, "coding");
    json_open_object(&k->j, NULL);
    json_text(&k->j, "system", FHIR_SYSTEM);
    json_text(&k->j, "code", code);
    json_close(&k->j);
    json_close(&k->j);
    json_text(&k->j, "text", text);
    json_close(&k->j);
}

static void
put_value(struct maker *k, double value, const char *unit, const char *ucum)
{
    if (!isfinite(value)) {
        json_open_object(&k->j, "dataAbsentReason");
        json_open_array(&k->j, "coding");
        json_open_object(&k->j, NULL);
        json_text(&k->j, "system", "http://terminology.hl7.org/CodeSystem/data-absent-reason");
        json_text(&k->j, "code", "unknown");
        json_close(&k->j);
        json_close(&k->j);
        json_close(&k->j);
        return;
    }
    json_open_object(&k->j, "valueQuantity");
    json_number(&k->j, "value", value);
    json_text(&k->j, "unit", unit);
    json_text(&k->j, "system", "http://unitsofmeasure.org");
    json_text(&k->j, "code", ucum);
    json_close(&k->j);
}

static void
open_observation(struct maker *k, const char *code, const char *text)
{
    open_entry(k, true, code, "Observation");
    json_text(&k->j, "status", k->v->visit.is_finished ? "final" : "preliminary");
    put_code(k, "code", code, text);
    json_open_object(&k->j, "subject");
    json_text(&k->j, "reference", k->subject);
    json_close(&k->j);
    json_open_object(&k->j, "effectivePeriod");
    json_text(&k->j, "start", k->start);
    if (k->end[0])
        json_text(&k->j, "end", k->end);
    json_close(&k->j);
}

static void
put_component(struct maker *k, const char *code, const char *text, double value, const char *unit, const char *ucum)
{
    json_open_object(&k->j, NULL);
    put_code(k, "code", code, text);
    put_value(k, value, unit, ucum);
    json_close(&k->j);
}

static void
put_plain(struct maker *k, const char *code, const char *text, double value, const char *unit, const char *ucum)
{
    open_observation(k, code, text);
    put_value(k, value, unit, ucum);
    close_entry(k);
}

/* The mean of the blocks that targets are held to; beside it spread, baseline and in-band shares. */
static void
put_metric(struct maker *k, enum metric m)
{
    const struct metric_info *info = metric_info(m);
    const bool is_share = strcmp(info->unit, "yes/no") == 0;
    const char *unit = is_share ? "% of steps" : info->unit, *ucum = fhir_ucum(m);
    const double scale = is_share ? 100 : 1;
    const struct course_visit *v = k->v;
    char definition[32], words[64];
    snprintf(definition, sizeof definition, "definition_%d", v->measurement.definitions.of[m]);
    snprintf(words, sizeof words, "definition %d of this figure", v->measurement.definitions.of[m]);
    open_observation(k, info->name, info->name);
    put_code(k, "method", definition, words); /* how it was done: two observations compare only where it is the same */
    put_value(k, v->held[m].mean * scale, unit, ucum);
    json_open_array(&k->j, "component");
    put_component(k, "sd", "standard deviation from step to step", v->held[m].sd * scale, unit, ucum);
    put_component(k, "baseline", "mean of the visit's silent baseline", v->baseline[m].mean * scale, unit, ucum);
    if (v->band[m].has_target) {
        put_component(k, "in_band_shown", "steps in the target band with feedback", v->band[m].shown_pct, "%", "%");
        put_component(k, "in_band_withheld", "steps in the target band without feedback", v->band[m].withheld_pct, "%", "%");
    }
    json_close(&k->j);
    close_entry(k);
}

static void
put_notes(struct maker *k)
{
    open_observation(k, "notes", "notes on the visit");
    json_text(&k->j, "valueString", k->v->notes);
    close_entry(k);
}

static void
put_patient(struct maker *k)
{
    open_entry(k, false, "patient", "Patient");
    json_open_array(&k->j, "identifier");
    json_open_object(&k->j, NULL);
    json_text(&k->j, "system", FHIR_SYSTEM);
    json_text(&k->j, "value", k->c->runner.code);
    json_close(&k->j);
    json_close(&k->j);
    close_entry(k);
}

void
fhir_print(FILE *f, const struct course *c)
{
    struct maker k = { .c = c, .v = &c->visit[c->n_visits - 1] };
    const struct store_visit *row = &k.v->visit;
    local_time_iso(k.start, row->started_utc_ms, row->zone_offset_min);
    if (row->ended_utc_ms != 0)
        local_time_iso(k.end, row->ended_utc_ms, row->zone_offset_min);
    make_uuid(&k, false, "patient", k.subject);
    json_init(&k.j, f);
    json_open_object(&k.j, NULL);
    json_text(&k.j, "resourceType", "Bundle");
    json_text(&k.j, "type", "collection");
    json_text(&k.j, "timestamp", k.end[0] ? k.end : k.start);
    json_open_array(&k.j, "entry");
    put_patient(&k);
    put_plain(&k, "body_mass", "body mass", c->runner.body_mass_kg, "kg", "kg");
    put_plain(&k, "body_weight", "body weight used for {BW}", row->body_weight_n, "N", "N");
    put_plain(&k, "steps", "running steps", k.v->dose.n_steps, "steps", "{steps}");
    put_plain(&k, "fore_steps_at_least", "running steps that land on mid- or forefoot", k.v->dose.n_fore_least, "steps", "{steps}");
    put_plain(&k, "fore_steps_at_most", "the same with those too near a border to be told", k.v->dose.n_fore_most, "steps",
              "{steps}");
    put_plain(&k, "running_time", "minutes of running", k.v->dose.minutes, "min", "min");
    put_plain(&k, "pain_before", "pain before, 0 to 10", k.v->pain_before, "of 10", "{score}");
    put_plain(&k, "pain_worst", "worst pain during the run, 0 to 10", k.v->pain_worst, "of 10", "{score}");
    put_plain(&k, "pain_after", "pain after, 0 to 10", k.v->pain_after, "of 10", "{score}");
    put_plain(&k, "effort", "effort, 0 to 10", k.v->effort, "of 10", "{score}");
    if (k.v->notes)
        put_notes(&k);
    for (int m = 0; m < METRIC_COUNT; m++)
        put_metric(&k, (enum metric) m);
    json_close(&k.j);
    json_close(&k.j);
}
