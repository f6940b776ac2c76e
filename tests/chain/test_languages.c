/* Commands in every language: refusals, helps and tables are told in it, what machines read stays as it is.
 *
 * The expected words are those of assets/languages; that they are the right ones is for people who speak them to say. */
#include "aid/process.h"
#include "aid/store_rig.h"
#include "paper/phrase.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_MAX (1 << 16)

static const char *const LANGUAGES[] = { "de", "fr", "es", "ja" };
enum { N_LANGUAGES = sizeof LANGUAGES / sizeof *LANGUAGES };

static struct store_rig rig;
static char english[TEXT_MAX], text[TEXT_MAX], complaint[TEXT_MAX];

static void
make_rig(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
    setenv("UNDERFOOT_PROFILES", "profiles", 1);
}

static void
remove_rig(void)
{
    store_rig_remove(&rig);
}

TestSuite(languages, .init = make_rig, .fini = remove_rig, .timeout = 120);

/* Runs the words after the program's name in a language, as a desktop says it; NULL: English. */
static int
run_in(const char *language, const char *words)
{
    char value[32];
    struct process p;
    snprintf(value, sizeof value, "%s_XX.UTF-8", language ? language : "en");
    setenv("UNDERFOOT_TEST_LANG", value, 1);
    const int code = process_run_words(&p, rig.folder, 30000, words);
    process_read(p.out_path, text, sizeof text);
    process_read(p.err_path, complaint, sizeof complaint);
    return code;
}

Test(languages, a_refusal_is_told_in_the_language_with_the_same_exit_code)
{
    static const struct {
        const char *language, *option, *nobody;
    } rows[] = {
        { "de", "underfoot visits: --nonsense ist keine Option dieses Befehls (`underfoot visits --help` nennt die Optionen)\n",
          "'dance' ist kein Befehl" },
        { "fr", "underfoot visits: --nonsense n'est pas une option de cette commande (`underfoot visits --help` donne les options)\n",
          "'dance' n'est pas une commande" },
        { "es", "underfoot visits: --nonsense no es una opción de este comando (`underfoot visits --help` enumera las opciones)\n",
          "'dance' no es un comando" },
        { "ja", "underfoot visits: --nonsense はこのコマンドのオプションではありません（オプションは `underfoot visits --help`）\n",
          "'dance' というコマンドはありません" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_expect_eq(run_in(rows[i].language, "visits --nonsense"), 2);
        cr_expect_str_eq(complaint, rows[i].option);
        cr_expect_eq(run_in(rows[i].language, "dance"), 2);
        cr_expect(strstr(complaint, rows[i].nobody), "%s", complaint);
    }
    cr_expect_eq(run_in(NULL, "visits --nonsense"), 2);
    cr_expect_str_eq(complaint, "underfoot visits: --nonsense is no option of this command (`underfoot visits --help` lists the options)\n");
}

/* The line of a help that tells of an option, into out; false when there is none. */
static bool
line_of(const char *help, const char *option, char *out, size_t cap)
{
    const char *at = strstr(help, option);
    if (!at)
        return false;
    const size_t len = strcspn(at, "\n");
    cr_assert_lt(len, cap, "a line of %zu bytes", len);
    memcpy(out, at, len);
    out[len] = '\0';
    return true;
}

/* Every option of a command's English help: its name stays, its words do not. */
static void
compare_helps(const char *language, const char *command)
{
    for (const char *at = english; (at = strstr(at, "\n  --")); at++) {
        char name[64], theirs[1024], ours[1024];
        snprintf(name, sizeof name, "\n  --%.*s ", (int) strcspn(at + 5, " "), at + 5);
        snprintf(ours, sizeof ours, "%.*s", (int) strcspn(at + 1, "\n"), at + 1);
        const bool is_there = line_of(text, name, theirs, 1) && line_of(strstr(text, name) + 1, "  --", theirs, sizeof theirs);
        cr_expect(is_there, "%s %s: no line of%s", language, command, name);
        cr_expect(is_there && strcmp(theirs, ours) != 0, "%s %s: in English: %s", language, command, ours);
    }
}

Test(languages, every_help_is_told_in_every_language_and_names_stay)
{
    static const char *const commands[] = { "desk",  "demo",   "live",   "replay", "steps",   "mimic",  "ports",     "check", "calibrate",
                                            "runner", "visits", "report", "export", "keep", "restore", "repair", "remeasure" };
    char words[64];
    for (size_t k = 0; k < sizeof commands / sizeof *commands; k++) {
        snprintf(words, sizeof words, "%s --help", commands[k]);
        cr_assert_eq(run_in(NULL, words), 0);
        strcpy(english, text);
        cr_assert(strstr(english, "\n  --help "), "%s", english);
        for (int i = 0; i < N_LANGUAGES; i++) {
            cr_assert_eq(run_in(LANGUAGES[i], words), 0);
            cr_expect_eq(process_count_lines(complaint), 0, "%s", complaint);
            compare_helps(LANGUAGES[i], commands[k]);
        }
    }
}

Test(languages, the_list_of_commands_is_told_in_every_language)
{
    cr_assert_eq(run_in(NULL, "--help"), 0);
    strcpy(english, text);
    for (int i = 0; i < N_LANGUAGES; i++) {
        cr_assert_eq(run_in(LANGUAGES[i], "--help"), 0);
        for (const char *at = strstr(english, ":\n  desk") + 1; at; at = strstr(at + 1, "\n  ")) {
            char ours[256], name[32];
            snprintf(ours, sizeof ours, "%.*s", (int) strcspn(at + 1, "\n"), at + 1);
            snprintf(name, sizeof name, "\n  %.*s ", (int) strcspn(at + 3, " "), at + 3);
            cr_expect(strstr(text, name) && !strstr(text, ours), "%s: %s", LANGUAGES[i], ours);
        }
    }
}

/* The place on a terminal at which a piece stands in its line; -1: nowhere. */
static int
place_of(const char *line, const char *piece)
{
    char before[1024];
    const char *at = strstr(line, piece);
    if (!at)
        return -1;
    snprintf(before, sizeof before, "%.*s", (int) (at - line), line);
    return phrase_columns(before);
}

Test(languages, a_table_has_heads_and_figures_of_the_language_in_its_columns)
{
    static const struct {
        const char *language, *shoe, *pain, *mass, *label;
    } rows[] = {
        { "de", "Schuh", "Schmerzgrenze", "71,5", "Körpermasse" },
        { "fr", "chaussure", "limite de douleur", "71,5", "masse du corps" },
        { "es", "zapatilla", "límite de dolor", "71,5", "masa corporal" },
        { "ja", "靴", "痛みの上限", "71.5", "体重" },
    };
    cr_assert_eq(run_in(NULL, "runner add R-070 --mass 71.5 --pain-limit 4 --shoe road"), 0, "%s", complaint);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char head[512], row[512];
        cr_assert_eq(run_in(rows[i].language, "runner list"), 0);
        snprintf(head, sizeof head, "%.*s", (int) strcspn(text, "\n"), text);
        snprintf(row, sizeof row, "%s", strchr(text, '\n') + 1);
        cr_expect(strstr(head, rows[i].pain) && strstr(row, rows[i].mass), "%s", text);
        cr_expect_eq(place_of(head, rows[i].shoe), place_of(row, "road"), "%s", text);
        cr_expect_eq(place_of(head, rows[i].pain) + phrase_columns(rows[i].pain), place_of(row, "4  road") + 1, "%s", text);
        cr_assert_eq(run_in(rows[i].language, "runner show R-070"), 0);
        cr_expect(strstr(text, rows[i].label) && strstr(text, rows[i].mass) && strstr(text, " kg\n"), "%s", text);
    }
}

Test(languages, a_note_counts_in_the_plural_of_the_language)
{
    static const char *const one[N_LANGUAGES] = { "1 simulierte Sekunde mit", "1 seconde simulée", "1 segundo simulado", "1 秒" };
    static const char *const more[N_LANGUAGES] = { "2 simulierte Sekunden", "2 secondes simulées", "2 segundos simulados", "2 秒" };
    for (int i = 0; i < N_LANGUAGES; i++) {
        cr_assert_eq(run_in(LANGUAGES[i], "demo --headless --seconds 1"), 0, "%s", complaint);
        cr_expect(strstr(complaint, one[i]), "%s", complaint);
        cr_assert_eq(run_in(LANGUAGES[i], "demo --headless --seconds 2"), 0, "%s", complaint);
        cr_expect(strstr(complaint, more[i]), "%s", complaint);
    }
}

static void
make_visit(void)
{
    struct store s;
    struct store_runner r;
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK);
    cr_assert_eq(store_runner_ensure(&s, "R-070", &r), ERR_OK);
    struct store_visit v = store_visit_default(r.id);
    cr_assert_eq(store_visit_begin(&s, &v), ERR_OK);
    for (uint32_t k = 1; k <= 40; k++) {
        const struct coached_step step = store_rig_step(k, true);
        cr_assert_eq(store_step_put(&s, v.id, &step), ERR_OK);
    }
    store_close(&s);
}

Test(languages, what_machines_read_is_the_same_in_every_language)
{
    static const char *const words[] = { "visits --json", "visits show 1 --json", "export 1 --format csv", "export 1 --format json --steps",
                                         "export 1 --format fhir" };
    make_visit();
    for (size_t k = 0; k < sizeof words / sizeof *words; k++) {
        cr_assert_eq(run_in(NULL, words[k]), 0, "%s: %s", words[k], complaint);
        strcpy(english, text);
        for (int i = 0; i < N_LANGUAGES; i++) {
            cr_assert_eq(run_in(LANGUAGES[i], words[k]), 0);
            cr_expect_str_eq(text, english, "%s: %s", LANGUAGES[i], words[k]);
        }
    }
}

Test(languages, the_clinics_choice_of_a_language_comes_before_the_environment)
{
    char path[256];
    cr_assert_eq(run_in(NULL, "runner add R-070"), 0, "%s", complaint);
    snprintf(path, sizeof path, "%s/data/settings.ini", rig.folder);
    FILE *f = fopen(path, "w");
    cr_assert(f != NULL);
    fputs("[clinic]\nlanguage = fr\n", f);
    fclose(f);
    cr_expect_eq(run_in("de", "runner dance"), 2);
    cr_expect(strstr(complaint, "dites ce qu'il faut faire"), "%s", complaint);
}
