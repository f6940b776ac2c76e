#include "ui/text.h"

#include "base/log.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <SDL_ttf.h>
#include <fontconfig/fontconfig.h>

#define TEXT_FAMILY "B612"

/* ---------------------------------------------------------------- fonts */

/* Asks fontconfig for the file nearest to family (NULL = any), weight and language. */
static bool
text_match(FcConfig *fc, const char *family, enum text_weight w, const char *language, char *path,
           char *found)
{
    FcPattern *want = FcPatternCreate();
    if (want == NULL)
        return false;
    if (family != NULL) {
        FcPatternAddString(want, FC_FAMILY, (const FcChar8 *) family);
        FcPatternAddString(want, FC_FAMILY, (const FcChar8 *) "DejaVu Sans"); /* next best on screens */
    }
    FcPatternAddString(want, FC_FAMILY, (const FcChar8 *) "sans-serif");
    FcPatternAddInteger(want, FC_WEIGHT, w == TEXT_BOLD ? FC_WEIGHT_BOLD : FC_WEIGHT_REGULAR);
    FcPatternAddInteger(want, FC_SLANT, FC_SLANT_ROMAN);
    if (language != NULL)
        FcPatternAddString(want, FC_LANG, (const FcChar8 *) language);
    FcConfigSubstitute(fc, want, FcMatchPattern);
    FcDefaultSubstitute(want);
    FcResult result;
    FcPattern *best = FcFontMatch(fc, want, &result);
    FcChar8 *file = NULL, *name = NULL;
    bool ok = best != NULL && FcPatternGetString(best, FC_FILE, 0, &file) == FcResultMatch &&
              FcPatternGetString(best, FC_FAMILY, 0, &name) == FcResultMatch;
    if (ok) {
        snprintf(path, TEXT_PATH_MAX, "%s", (const char *) file);
        snprintf(found, sizeof((struct text *) 0)->family, "%s", (const char *) name);
    }
    if (best != NULL)
        FcPatternDestroy(best);
    FcPatternDestroy(want);
    return ok;
}

static bool
text_find_files(struct text *t, const char *language)
{
    FcConfig *fc = FcInitLoadConfigAndFonts();
    if (fc == NULL)
        return false;
    char other[sizeof t->family];
    bool ok = text_match(fc, TEXT_FAMILY, TEXT_REGULAR, NULL, t->path[TEXT_REGULAR], t->family) &&
              text_match(fc, TEXT_FAMILY, TEXT_BOLD, NULL, t->path[TEXT_BOLD], other);
    if (!text_match(fc, NULL, TEXT_BOLD, language, t->fallback_path, other))
        t->fallback_path[0] = '\0';
    FcConfigDestroy(fc);
    return ok;
}

enum err
text_open(struct text *t, const char *language)
{
    memset(t, 0, sizeof *t);
    if (TTF_Init() != 0) {
        message_tell(&t->why, MESSAGE_TEXT_NO_LIBRARY, TTF_GetError());
        return ERR_OS;
    }
    t->glyph = calloc(TEXT_N_GLYPHS, sizeof *t->glyph);
    if (t->glyph == NULL) {
        message_init(&t->why, MESSAGE_TEXT_NO_MEMORY);
        return ERR_MEMORY;
    }
    if (!text_find_files(t, language)) {
        message_init(&t->why, MESSAGE_TEXT_NO_FONT);
        return ERR_OS;
    }
    if (strncmp(t->family, TEXT_FAMILY, strlen(TEXT_FAMILY)) != 0) {
        struct message told;
        message_tell(&told, MESSAGE_TEXT_OTHER_FONT, TEXT_FAMILY, t->family);
        log_tell(&told);
    }
    return ERR_OK;
}

void
text_reset(struct text *t)
{
    for (int i = 0; t->glyph != NULL && i < TEXT_N_GLYPHS; i++)
        free(t->glyph[i].mask);
    if (t->glyph != NULL)
        memset(t->glyph, 0, TEXT_N_GLYPHS * sizeof *t->glyph);
    for (int i = 0; i < t->n_faces; i++)
        TTF_CloseFont(t->face[i].font);
    t->n_faces = 0;
    t->n_glyphs = 0;
}

void
text_close(struct text *t)
{
    text_reset(t);
    if (t->ruler != NULL)
        TTF_CloseFont(t->ruler);
    t->ruler = NULL;
    free(t->glyph);
    t->glyph = NULL;
    if (TTF_WasInit() > 0)
        TTF_Quit();
}

/* Opens (or finds) a face; -1 when the file can't be read or all are taken. */
static int
text_face_of(struct text *t, int size_px, enum text_weight w, bool is_fallback)
{
    for (int i = 0; i < t->n_faces; i++) {
        const struct text_face *f = &t->face[i];
        if (f->size_px == size_px && f->is_fallback == is_fallback && (is_fallback || f->weight == w))
            return i;
    }
    const char *path = is_fallback ? t->fallback_path : t->path[w];
    if (t->n_faces == TEXT_MAX_FACES || path[0] == '\0')
        return -1;
    TTF_Font *font = TTF_OpenFont(path, size_px);
    if (font == NULL)
        return -1;
    TTF_SetFontHinting(font, TTF_HINTING_LIGHT);
    struct text_face *f = &t->face[t->n_faces];
    *f = (struct text_face){ size_px, w, is_fallback, font, 0 };
    for (Uint32 digit = '0'; digit <= '9'; digit++) {
        int advance = 0;
        if (TTF_GlyphMetrics32(font, digit, NULL, NULL, NULL, NULL, &advance) == 0 &&
            advance > f->digit_advance_px)
            f->digit_advance_px = advance;
    }
    return t->n_faces++;
}

/* ---------------------------------------------------------------- glyphs */

/* Copies the rendered sign's coverage, cut to what is inked. */
static void
text_copy_mask(struct text_glyph *g, SDL_Surface *s, int pen_x, int baseline)
{
    int x0 = s->w, x1 = -1, y0 = s->h, y1 = -1;
    for (int y = 0; y < s->h; y++)
        for (int x = 0; x < s->w; x++) {
            const uint8_t *row = (const uint8_t *) s->pixels + (size_t) y * (size_t) s->pitch;
            if (((const uint32_t *) (const void *) row)[x] >> 24 == 0)
                continue;
            x0 = x < x0 ? x : x0;
            x1 = x > x1 ? x : x1;
            y0 = y < y0 ? y : y0;
            y1 = y > y1 ? y : y1;
        }
    if (x1 < 0)
        return;
    g->w_px = (int16_t) (x1 - x0 + 1);
    g->h_px = (int16_t) (y1 - y0 + 1);
    g->left_px = (int16_t) (x0 - pen_x);
    g->top_px = (int16_t) (y0 - baseline);
    g->mask = malloc((size_t) g->w_px * (size_t) g->h_px);
    for (int y = 0; g->mask != NULL && y < g->h_px; y++) {
        const uint8_t *row = (const uint8_t *) s->pixels + (size_t) (y + y0) * (size_t) s->pitch;
        for (int x = 0; x < g->w_px; x++)
            g->mask[y * g->w_px + x] = (uint8_t) (((const uint32_t *) (const void *) row)[x + x0] >> 24);
    }
}

static void
text_rasterise(struct text *t, struct text_glyph *g, int face, uint32_t code)
{
    const struct text_face *f = &t->face[face];
    int min_x = 0, max_y = 0, advance = 0;
    TTF_GlyphMetrics32(f->font, code, &min_x, NULL, NULL, &max_y, &advance);
    *g = (struct text_glyph){ .code = code, .face = (int16_t) face, .advance_px = (int16_t) advance };
    SDL_Surface *s = TTF_RenderGlyph32_Blended(f->font, code, (SDL_Color){ 255, 255, 255, 255 });
    if (s == NULL)
        return;
    if (s->format->BytesPerPixel == 4) {
        int ascent = TTF_FontAscent(f->font);
        text_copy_mask(g, s, min_x < 0 ? -min_x : 0, ascent + (max_y > ascent ? max_y - ascent : 0));
    }
    SDL_FreeSurface(s);
    if (code >= '0' && code <= '9') { /* tabular: centred in the widest digit's room */
        g->left_px = (int16_t) (g->left_px + (f->digit_advance_px - advance) / 2);
        g->advance_px = (int16_t) f->digit_advance_px;
    }
}

/* The sign's glyph, from the cache or made now. NULL when there is no room. */
static const struct text_glyph *
text_glyph_of(struct text *t, int size_px, enum text_weight w, uint32_t code)
{
    int face = text_face_of(t, size_px, w, false);
    if (face < 0)
        return NULL;
    for (int attempt = 0; attempt < 2; attempt++) {
        uint32_t slot = (code * 2654435761u ^ (uint32_t) face * 40503u) & (TEXT_N_GLYPHS - 1);
        for (int i = 0; i < TEXT_N_GLYPHS; i++, slot = (slot + 1) & (TEXT_N_GLYPHS - 1)) {
            struct text_glyph *g = &t->glyph[slot];
            if (g->code == code && g->face == face)
                return g;
            if (g->code != 0)
                continue;
            if (attempt == 0 && !TTF_GlyphIsProvided32(t->face[face].font, code))
                break;
            if (t->n_glyphs >= TEXT_N_GLYPHS * 3 / 4)
                return NULL;
            t->n_glyphs++;
            text_rasterise(t, g, face, code);
            return g;
        }
        face = text_face_of(t, size_px, w, true);
        if (face < 0)
            return NULL;
    }
    return NULL;
}

/* Next Unicode sign of utf8; 0 at the end. What is no UTF-8 counts as one sign a byte. */
static uint32_t
text_next(const char **utf8)
{
    const unsigned char *s = (const unsigned char *) *utf8;
    int n = s[0] >= 0xF0 ? 3 : s[0] >= 0xE0 ? 2 : s[0] >= 0xC0 ? 1 : 0;
    if (s[0] == 0)
        return 0;
    uint32_t code = n == 3 ? s[0] & 0x07u : n == 2 ? s[0] & 0x0Fu : n == 1 ? s[0] & 0x1Fu : s[0];
    for (int i = 1; i <= n; i++) {
        if ((s[i] & 0xC0) != 0x80) {
            *utf8 += 1;
            return 0xFFFD;
        }
        code = code << 6 | (s[i] & 0x3Fu);
    }
    *utf8 += n + 1;
    return code;
}

/* ---------------------------------------------------------------- lines */

void
text_preload(struct text *t, int size_px, enum text_weight w, const char *utf8)
{
    for (uint32_t code = text_next(&utf8); code != 0; code = text_next(&utf8))
        (void) text_glyph_of(t, size_px, w, code);
}

int
text_width_px(struct text *t, int size_px, enum text_weight w, const char *utf8)
{
    int width = 0;
    for (uint32_t code = text_next(&utf8); code != 0; code = text_next(&utf8)) {
        const struct text_glyph *g = text_glyph_of(t, size_px, w, code);
        width += g != NULL ? g->advance_px : 0;
    }
    return width;
}

int
text_digit_height_px(struct text *t, int size_px, enum text_weight w)
{
    const struct text_glyph *g = text_glyph_of(t, size_px, w, '7');
    return g != NULL ? -g->top_px : 0;
}

int
text_fit_px(struct text *t, int want_px, int min_px, enum text_weight w, const char *utf8, int width_px)
{
    /* Measured in a face of its own: the faces and glyphs in the table are for what is drawn. */
    if (t->ruler == NULL || t->ruler_px != want_px || t->ruler_weight != w) {
        if (t->ruler != NULL)
            TTF_CloseFont(t->ruler);
        t->ruler = TTF_OpenFont(t->path[w], want_px);
        t->ruler_px = want_px;
        t->ruler_weight = w;
    }
    TTF_Font *font = t->ruler;
    if (font == NULL)
        return want_px;
    int width = 0;
    for (const char *s = utf8;;) {
        uint32_t code = text_next(&s);
        int advance = 0;
        if (code == 0)
            break;
        if (TTF_GlyphIsProvided32(font, code))
            TTF_GlyphMetrics32(font, code, NULL, NULL, NULL, NULL, &advance);
        width += advance > 0 ? advance : want_px; /* a fallback sign: at most the em */
    }
    if (width <= width_px)
        return want_px;
    int fit = (int) ((double) want_px * width_px / width * 0.99);
    return fit < min_px ? min_px : fit;
}

bool
text_can_show(struct text *t, const char *utf8)
{
    enum { SIZE_PX = 20 };
    int own = text_face_of(t, SIZE_PX, TEXT_BOLD, false);
    int fallback = text_face_of(t, SIZE_PX, TEXT_BOLD, true);
    for (uint32_t code = text_next(&utf8); code != 0; code = text_next(&utf8)) {
        bool has = own >= 0 && TTF_GlyphIsProvided32(t->face[own].font, code);
        if (!has && (fallback < 0 || !TTF_GlyphIsProvided32(t->face[fallback].font, code)))
            return false;
    }
    return true;
}

int
text_draw(struct text *t, struct paint_picture *p, int x_px, int baseline_px, enum text_align align,
          int size_px, enum text_weight w, uint32_t rgb, double alpha, const char *utf8)
{
    int width = text_width_px(t, size_px, w, utf8);
    int pen = align == TEXT_LEFT ? x_px : align == TEXT_CENTRE ? x_px - width / 2 : x_px - width;
    for (uint32_t code = text_next(&utf8); code != 0; code = text_next(&utf8)) {
        const struct text_glyph *g = text_glyph_of(t, size_px, w, code);
        if (g == NULL)
            continue;
        if (g->mask != NULL)
            paint_mask(p, g->mask, g->w_px, g->h_px, pen + g->left_px, baseline_px + g->top_px, rgb, alpha);
        pen += g->advance_px;
    }
    return width;
}
