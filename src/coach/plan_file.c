/* plan_file.c - INI file to struct plan_file. Every refusal names file, line, reason and what to do. */
#include "base/inifile.h"
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
refuse(struct loader *l, const char *reason, const char *value)
{
    return inifile_refuse(&l->file, reason, value);
}

/* A text that may stand on several lines, joined by spaces. */
static int
add_text(struct loader *l, char out[PLAN_FILE_TEXT_MAX], const char *value)
{
    const bool fits = (out[0] == '\0' || str_append(out, PLAN_FILE_TEXT_MAX, " ")) &&
                      str_append(out, PLAN_FILE_TEXT_MAX, value);
    return fits ? 1 : refuse(l, "this text is longer than 639 bytes; shorten it", value);
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
    return refuse(l, "target must be cadence_up_5, cadence_up_7_5, cadence_up_10, load_rate_down_20 or "
                     "land_nearer, not", value);
}

static int
read_choice(struct loader *l, const char *value, const char *no, const char *yes, const char *reason, bool *out)
{
    *out = strcmp(value, yes) == 0;
    return *out || strcmp(value, no) == 0 ? 1 : refuse(l, reason, value);
}

static int
read_whole(struct loader *l, const char *value, int64_t min, int64_t max, const char *reason, int64_t *out)
{
    return str_to_i64(value, out) && *out >= min && *out <= max ? 1 : refuse(l, reason, value);
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
        return refuse(l, "[plan] has name, source, published, ours, weeks, spread, seed, feedback and target, "
                         "but no", name);
    if (l->seen >> which & 1)
        return refuse(l, "given twice; take one of the two lines out", name);
    l->seen |= 1U << which;
    bool is_second;
    int64_t whole;
    int is_fine;
    switch (which) {
    case 0:
        return str_to_double(value, &p->weeks) && p->weeks > 0 && p->weeks <= 52
                   ? 1
                   : refuse(l, "weeks must be a number above 0, at most 52, not", value);
    case 1:
        is_fine = read_choice(l, value, "windows", "random", "spread must be windows or random, not", &is_second);
        p->spread = is_second ? PLAN_SPREAD_RANDOM : PLAN_SPREAD_WINDOWS;
        return is_fine;
    case 2:
        is_fine = read_whole(l, value, 0, INT64_C(4294967295), "seed must be a whole number from 0, not", &whole);
        p->seed = is_fine ? (uint64_t) whole : 0;
        return is_fine;
    case 3:
        return read_choice(l, value, "always", "outside_band", "feedback must be always or outside_band, not",
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
                   : refuse(l, "minutes must be 0.05 to 120, not", word);
    if (strcmp(name, "shown") == 0) {
        if (b->kind != VERDICT_BLOCK_COACHED)
            return refuse(l, "only coached blocks show feedback; take 'shown' out, or make the block coached", word);
        return read_share(word, 0, 100, &b->shown_share) ? 1
                                                          : refuse(l, "shown must be 0% to 100%, not", word);
    }
    if (strcmp(name, "speed") != 0)
        return refuse(l, "a block has minutes, speed and shown, but no", name);
    if (read_share(word, 10, 200, &b->speed_share))
        return 1;
    return str_to_double(word, &b->speed_m_s) && b->speed_m_s >= 0.3 && b->speed_m_s <= PLAN_MAX_BELT_M_S
               ? 1
               : refuse(l, "speed must be 0.3 to 7 m/s (not km/h), or 10% to 200% of the runner's usual, not", word);
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
        return refuse(l, "a visit has at most 12 blocks; join some", value);
    struct plan_file_block *b = &v->block[v->n_blocks];
    *b = (struct plan_file_block){ .minutes = UNKNOWN, .speed_m_s = UNKNOWN, .speed_share = UNKNOWN };
    if (n < 1 || n % 2 == 0)
        return refuse(l, "a block is written KIND minutes N [speed N] [shown N%], not", value);
    if (!read_kind(words[0], &b->kind))
        return refuse(l, "a block is warm_up, baseline, coached, silent or cool_down, not", words[0]);
    b->shown_share = b->kind == VERDICT_BLOCK_COACHED ? UNKNOWN : 0;
    for (int i = 1; i + 1 < n; i += 2)
        if (!read_part(l, b, words[i], words[i + 1]))
            return 0;
    if (isnan(b->minutes))
        return refuse(l, "the block has no minutes; add 'minutes N'", value);
    if (isnan(b->shown_share))
        return refuse(l, "the coached block does not say how much feedback it shows; add 'shown N%'", value);
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
        return refuse(l, "no such section; there are [plan], [visit 1], [visit 2] and so on, but not", section);
    if (number < 1 || number > PLAN_FILE_MAX_VISITS)
        return refuse(l, "a course has visits 1 to 24; there is no", section);
    if (number > l->p->n_visits + 1)
        return refuse(l, "the visits must follow each other, 1, 2, 3 ...; this one comes too early", section);
    if (strcmp(name, "block") != 0)
        return refuse(l, "a visit has lines 'block = ...', but no", name);
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
        refuse(l, "the plan ends without a name; add 'name = ...' under [plan]", "");
    else if (p->n_visits == 0)
        refuse(l, "the plan ends without a visit; add [visit 1] with its blocks", "");
    double before = 1;
    for (int i = 1; i <= p->n_visits; i++) {
        const double share = plan_file_shown_share(p, i);
        char which[32];
        snprintf(which, sizeof which, "visit %d", i);
        if (share > before + 1e-9)
            refuse(l, "a faded plan shows no more feedback than the visit before; lower its shown, or raise those "
                      "before it", which);
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
    message_sayf(why, "the plan %.300s: its file's name %s: rename it", path,
             fits ? "is not UTF-8, or has a control sign in it" : "is longer than 63 bytes");
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
        err = inifile_open(&l.file, path, "the plan", why);
    if (err == ERR_OK)
        err = inifile_close(&l.file, ini_parse_stream(inifile_line, &l.file, on_key, &l));
    if (err != ERR_OK)
        return err;
    return check_whole(&l) ? ERR_OK : ERR_FORMAT;
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
