#include "runner/choices.h"

#include "base/log.h"
#include "base/str.h"
#include "runner/words.h"

void
choices_read(const char *code, const char *text, struct show_as *out)
{
    char languages[WORDS_LANGUAGES_MAX], allowed[SHOW_AS_TEXT_MAX];
    words_languages(NULL, languages);
    if (!show_as_parse(text, languages, out)) {
        struct message told;
        message_tell(&told, MESSAGE_CHOICE_LEFT_OUT, out->wrong, code, show_as_allowed(out->wrong_key, languages, allowed));
        log_tell(&told);
    }
}

void
choices_apply(const struct show_as *s, struct show_config *c)
{
    const unsigned taken = s->has & ~c->given;
    if (taken & 1u << SHOW_AS_THEME)
        c->theme = s->theme;
    if (taken & 1u << SHOW_AS_LANGUAGE)
        c->language = s->language;
    if (taken & 1u << SHOW_AS_DISTANCE)
        c->viewing_distance_mm = 1000 * s->distance_m;
    if (taken & 1u << SHOW_AS_SOUND)
        c->hearing.has_signs = s->has_signs;
    if (taken & 1u << SHOW_AS_METRONOME) {
        c->hearing.beat_is_target = s->beat_is_target;
        c->hearing.beat_spm = s->beat_spm;
    }
    if (taken & 1u << SHOW_AS_VOLUME)
        c->volume = s->volume;
}

enum err
choices_wear(const struct show_config *c, struct canvas *canvas, struct screen *screen, struct message *why)
{
    struct screen_config look = screen_config_default();
    struct text text;
    enum err err = text_open(&text, c->language);
    if (err != ERR_OK) {
        *why = text.why;
        text_close(&text);
        return err;
    }
    text_close(&canvas->text);
    canvas->text = text;
    look.language = c->language;
    look.theme = c->theme;
    look.viewing_distance_mm = c->viewing_distance_mm;
    look.diagonal_inch = c->diagonal_inch;
    err = screen_init(screen, canvas, &look);
    if (err != ERR_OK)
        *why = screen->why;
    canvas->generation++;
    return err;
}
