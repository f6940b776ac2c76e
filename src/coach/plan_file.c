/* plan_file.c - INI file to struct plan_file. Every refusal names file, line, reason and what to do. */
#include "base/inifile.h"
#include "base/mark.h"
#include "base/str.h"
#include "base/utf8.h"
#include "coach/plan_file.h"

#include <assert.h>
#include <ini.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define N_WORDS_MAX 8
#define WORD_MAX 24

struct loader {
    struct plan_file *p;
    struct inifile file;
    unsigned seen; /* a bit for each key that may stand once */
};

static const double UNKNOWN = (double) NAN;

static int
refuse(struct loader *l, enum message_code code, const char *value)
{
    return inifile_refuse(&l->file, code, value);
}

/* A text that may stand on several lines, joined by spaces. */
static int
add_text(struct loader *l, char out[PLAN_FILE_TEXT_MAX], const char *value)
{
    const bool fits = (out[0] == '\0' || str_append(out, PLAN_FILE_TEXT_MAX, " ")) &&
                      str_append(out, PLAN_FILE_TEXT_MAX, value);
    return fits ? 1 : refuse(l, MESSAGE_PLAN_TEXT_TOO_LONG, value);
}

static const struct {
    const char *word;
    enum target_rule rule;
} RULES[] = {
    { "cadence_up_5", TARGET_RULE_CADENCE_UP_5 },     { "cadence_up_7_5", TARGET_RULE_CADENCE_UP_7_5 },
    { "cadence_up_10", TARGET_RULE_CADENCE_UP_10 },   { "load_rate_down_20", TARGET_RULE_LOAD_RATE_DOWN_20 },
    { "land_nearer", TARGET_RULE_LAND_NEARER },
};

static int
read_rule(struct loader *l, const char *value)
{
    for (size_t i = 0; i < sizeof RULES / sizeof *RULES; i++)
        if (strcmp(value, RULES[i].word) == 0) {
            l->p->rule = RULES[i].rule;
            return 1;
        }
    return refuse(l, MESSAGE_PLAN_NO_TARGET, value);
}

static int
read_choice(struct loader *l, const char *value, const char *no, const char *yes, enum message_code code, bool *out)
{
    *out = strcmp(value, yes) == 0;
    return *out || strcmp(value, no) == 0 ? 1 : refuse(l, code, value);
}

static int
read_whole(struct loader *l, const char *value, int64_t min, int64_t max, enum message_code code, int64_t *out)
{
    return str_to_i64(value, out) && *out >= min && *out <= max ? 1 : refuse(l, code, value);
}

static int
read_plan_key(struct loader *l, const char *name, const char *value)
{
    struct plan_file *p = l->p;
    const struct {
        const char *name;
        char *text;
    } texts[] = { { "name", p->name }, { "source", p->source }, { "published", p->published }, { "ours", p->ours } };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        if (strcmp(name, texts[i].name) == 0)
            return add_text(l, texts[i].text, value);
    static const char *const singles[] = { "weeks", "spread", "seed", "feedback", "target" };
    size_t which = 0;
    while (which < sizeof singles / sizeof *singles && strcmp(name, singles[which]) != 0)
        which++;
    if (which == sizeof singles / sizeof *singles)
        return refuse(l, MESSAGE_PLAN_NO_KEY, name);
    if (l->seen >> which & 1)
        return refuse(l, MESSAGE_PLAN_GIVEN_TWICE, name);
    l->seen |= 1U << which;
    bool is_second;
    int64_t whole;
    int is_fine;
    switch (which) {
    case 0:
        return str_to_double(value, &p->weeks) && p->weeks > 0 && p->weeks <= 52
                   ? 1
                   : refuse(l, MESSAGE_PLAN_NO_WEEKS, value);
    case 1:
        is_fine = read_choice(l, value, "windows", "random", MESSAGE_PLAN_NO_SPREAD, &is_second);
        p->spread = is_second ? PLAN_SPREAD_RANDOM : PLAN_SPREAD_WINDOWS;
        return is_fine;
    case 2:
        is_fine = read_whole(l, value, 0, INT64_C(4294967295), MESSAGE_PLAN_NO_SEED, &whole);
        p->seed = is_fine ? (uint64_t) whole : 0;
        return is_fine;
    case 3:
        return read_choice(l, value, "always", "outside_band", MESSAGE_PLAN_NO_FEEDBACK,
                           &p->is_bandwidth);
    default:
        return read_rule(l, value);
    }
}

/* Splits value at spaces; -1 when there are more or longer words than a block has. */
static int
split(const char *value, char words[N_WORDS_MAX][WORD_MAX])
{
    int n = 0;
    for (const char *at = value; *at;) {
        const size_t len = strcspn(at, " \t");
        if (len > 0 && (n == N_WORDS_MAX || len >= WORD_MAX))
            return -1;
        if (len > 0) {
            memcpy(words[n], at, len);
            words[n++][len] = '\0';
        }
        at += len;
        at += strspn(at, " \t");
    }
    return n;
}

/* "80%" is 0.8. */
static bool
read_share(const char *word, double min, double max, double *out)
{
    char number[WORD_MAX];
    const size_t len = strlen(word);
    if (len < 2 || word[len - 1] != '%')
        return false;
    snprintf(number, sizeof number, "%.*s", (int) (len - 1), word);
    double pct;
    if (!str_to_double(number, &pct) || pct < min || pct > max)
        return false;
    *out = pct / 100;
    return true;
}

static int
read_part(struct loader *l, struct plan_file_block *b, const char *name, const char *word)
{
    if (strcmp(name, "minutes") == 0)
        return str_to_double(word, &b->minutes) && b->minutes >= 0.05 && b->minutes <= 120
                   ? 1
                   : refuse(l, MESSAGE_PLAN_NO_MINUTES, word);
    if (strcmp(name, "shown") == 0) {
        if (b->kind != VERDICT_BLOCK_COACHED)
            return refuse(l, MESSAGE_PLAN_ONLY_COACHED_SHOWS, word);
        return read_share(word, 0, 100, &b->shown_share) ? 1
                                                          : refuse(l, MESSAGE_PLAN_NO_SHARE, word);
    }
    if (strcmp(name, "speed") != 0)
        return refuse(l, MESSAGE_PLAN_NO_BLOCK_KEY, name);
    if (read_share(word, 10, 200, &b->speed_share))
        return 1;
    return str_to_double(word, &b->speed_m_s) && b->speed_m_s >= 0.3 && b->speed_m_s <= PLAN_MAX_BELT_M_S
               ? 1
               : refuse(l, MESSAGE_PLAN_NO_SPEED, word);
}

static bool
read_kind(const char *word, enum verdict_block *out)
{
    static const struct {
        const char *word;
        enum verdict_block kind;
    } kinds[] = { { "warm_up", VERDICT_BLOCK_WARM_UP },
                  { "baseline", VERDICT_BLOCK_BASELINE },
                  { "coached", VERDICT_BLOCK_COACHED },
                  { "silent", VERDICT_BLOCK_SILENT },
                  { "cool_down", VERDICT_BLOCK_COOL_DOWN } };
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(word, kinds[i].word) == 0) {
            *out = kinds[i].kind;
            return true;
        }
    return false;
}

/* "coached minutes 15 speed 100% shown 80%" */
static int
read_block(struct loader *l, struct plan_file_visit *v, const char *value)
{
    char words[N_WORDS_MAX][WORD_MAX];
    const int n = split(value, words);
    if (v->n_blocks == PLAN_FILE_MAX_BLOCKS)
        return refuse(l, MESSAGE_PLAN_MANY_BLOCKS, value);
    struct plan_file_block *b = &v->block[v->n_blocks];
    *b = (struct plan_file_block){ .minutes = UNKNOWN, .speed_m_s = UNKNOWN, .speed_share = UNKNOWN };
    if (n < 1 || n % 2 == 0)
        return refuse(l, MESSAGE_PLAN_BLOCK_IS_UNCLEAR, value);
    if (!read_kind(words[0], &b->kind))
        return refuse(l, MESSAGE_PLAN_NO_BLOCK_KIND, words[0]);
    b->shown_share = b->kind == VERDICT_BLOCK_COACHED ? UNKNOWN : 0;
    for (int i = 1; i + 1 < n; i += 2)
        if (!read_part(l, b, words[i], words[i + 1]))
            return 0;
    if (isnan(b->minutes))
        return refuse(l, MESSAGE_PLAN_BLOCK_LACKS_MINUTES, value);
    if (isnan(b->shown_share))
        return refuse(l, MESSAGE_PLAN_BLOCK_LACKS_SHARE, value);
    v->n_blocks++;
    return 1;
}

static int
on_key(void *user, const char *section, const char *name, const char *value)
{
    struct loader *l = user;
    int64_t number;
    if (strcmp(section, "plan") == 0)
        return read_plan_key(l, name, value);
    if (!str_begins_with(section, "visit ") || !str_to_i64(section + 6, &number))
        return refuse(l, MESSAGE_PLAN_NO_SECTION, section);
    if (number < 1 || number > PLAN_FILE_MAX_VISITS)
        return refuse(l, MESSAGE_PLAN_NO_VISIT, section);
    if (number > l->p->n_visits + 1)
        return refuse(l, MESSAGE_PLAN_VISIT_IS_EARLY, section);
    if (strcmp(name, "block") != 0)
        return refuse(l, MESSAGE_PLAN_NO_VISIT_KEY, name);
    if (number > l->p->n_visits)
        l->p->n_visits = (int) number;
    return read_block(l, &l->p->visit[number - 1], value);
}

/* What the file must say as a whole. */
static bool
check_whole(struct loader *l)
{
    const struct plan_file *p = l->p;
    if (p->name[0] == '\0')
        refuse(l, MESSAGE_PLAN_LACKS_NAME, NULL);
    else if (p->n_visits == 0)
        refuse(l, MESSAGE_PLAN_LACKS_VISIT, NULL);
    double before = 1;
    for (int i = 1; i <= p->n_visits; i++) {
        const double share = plan_file_shown_share(p, i);
        struct message_arg place;
        if (share > before + 1e-9 && inifile_refuses(&l->file, &place))
            message_tell(l->file.why, MESSAGE_PLAN_SHOWS_MORE, place, i);
        before = isnan(share) ? before : share;
    }
    return l->file.bad_line == 0;
}

static enum err
set_id(struct plan_file *p, const char *path, struct message *why)
{
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const size_t len = strlen(name) - (str_ends_with(name, ".ini") ? strlen(".ini") : 0);
    const bool fits = len < sizeof p->id;
    snprintf(p->id, sizeof p->id, "%.*s", fits ? (int) len : 0, name);
    if (fits && utf8_judge(p->id, sizeof p->id, false) == UTF8_IS_FINE)
        return ERR_OK;
    message_tell(why, fits ? MESSAGE_PLAN_FILE_NO_UTF8 : MESSAGE_PLAN_FILE_NAME_TOO_LONG, message_path(path));
    return ERR_FORMAT;
}

enum err
plan_file_load(struct plan_file *p, const char *path, struct message *why)
{
    struct loader l = { .p = p };
    memset(p, 0, sizeof *p);
    p->weeks = UNKNOWN;
    enum err err = set_id(p, path, why);
    if (err == ERR_OK)
        err = inifile_open(&l.file, path, N_("the plan"), why);
    if (err == ERR_OK)
        err = inifile_close(&l.file, ini_parse_stream(inifile_line, &l.file, on_key, &l));
    if (err != ERR_OK)
        return err;
    return check_whole(&l) ? ERR_OK : ERR_FORMAT;
}

bool
plan_file_is_shipped(const char *id)
{
    static const char *const shipped[] = { N_("eight-faded"),  N_("eight-plus-control"), N_("in-field-cadence"),
                                           N_("mirror-faded"), N_("six-times-twenty"),   N_("underfoot-ten-to-twenty") };
    for (size_t i = 0; i < sizeof shipped / sizeof *shipped; i++)
        if (strcmp(shipped[i], id) == 0)
            return true;
    return false;
}

void
plan_file_visit_plan(const struct plan_file *p, int visit, double usual_speed_m_s, struct plan *out)
{
    assert(visit >= 1 && visit <= p->n_visits);
    const struct plan_file_visit *v = &p->visit[visit - 1];
    /* Another visit draws other slots. */
    *out = (struct plan){ .n_blocks = v->n_blocks,
                          .spread = p->spread,
                          .seed = p->seed + (uint64_t) visit * UINT64_C(1000003),
                          .is_bandwidth = p->is_bandwidth };
    for (int i = 0; i < v->n_blocks; i++) {
        const struct plan_file_block *b = &v->block[i];
        out->block[i] = (struct plan_block){ .kind = b->kind,
                                             .length_s = 60 * b->minutes,
                                             .belt_speed_m_s = isnan(b->speed_m_s) ? b->speed_share * usual_speed_m_s
                                                                                   : b->speed_m_s,
                                             .feedback_share = b->shown_share };
        out->speed_share[i] = isnan(b->speed_m_s) && !isnan(b->speed_share) ? b->speed_share : 0;
    }
}

double
plan_file_coached_min(const struct plan_file *p, int visit)
{
    assert(visit >= 1 && visit <= p->n_visits);
    const struct plan_file_visit *v = &p->visit[visit - 1];
    double sum = 0;
    for (int i = 0; i < v->n_blocks; i++)
        sum += v->block[i].kind == VERDICT_BLOCK_COACHED ? v->block[i].minutes : 0;
    return sum;
}

double
plan_file_course_min(const struct plan_file *p)
{
    double sum = 0;
    for (int i = 1; i <= p->n_visits; i++)
        sum += plan_file_coached_min(p, i);
    return sum;
}

double
plan_file_shown_share(const struct plan_file *p, int visit)
{
    assert(visit >= 1 && visit <= p->n_visits);
    const struct plan_file_visit *v = &p->visit[visit - 1];
    double shown = 0;
    for (int i = 0; i < v->n_blocks; i++)
        shown += v->block[i].minutes * v->block[i].shown_share;
    const double coached = plan_file_coached_min(p, visit);
    return coached > 0 ? shown / coached : UNKNOWN;
}

int
plan_file_next_visit(const struct plan_file *p, int last_visit, bool was_whole)
{
    const int next = last_visit + (last_visit == 0 || was_whole);
    return next >= 1 && next <= p->n_visits ? next : 0;
}
