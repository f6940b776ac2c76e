/* text.h - text from cached glyphs: B612 through fontconfig, figures tabular.
 *
 * In:  UTF-8, a size in pixels (of the em), a weight.   Out: coverage masks into a paint_picture.
 * How: a glyph is rasterised by SDL_ttf at its first use and kept as a mask; a line is set from masks, so
 *      that a new number costs no memory. All digits take the widest digit's advance, so that a figure
 *      does not dance. text_preload() at start keeps first uses out of the drawing.
 *
 * Memory: taken at open and at a glyph's first use, given back by text_close().
 * Threads: one.  Errors: a missing B612 is replaced by what fontconfig offers and told once on stderr.
 */
#ifndef UI_TEXT_H
#define UI_TEXT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/message.h"
#include "ui/paint.h"

#define TEXT_MAX_FACES 32
#define TEXT_N_GLYPHS  4096 /* slots of the hash table; a power of two */
#define TEXT_PATH_MAX  512

enum text_weight { TEXT_REGULAR = 0, TEXT_BOLD, TEXT_N_WEIGHTS };

enum text_align {
    TEXT_LEFT = 0,
    TEXT_CENTRE,
    TEXT_RIGHT,
};

struct text_glyph {
    uint32_t code; /* Unicode; 0 = free slot */
    int16_t face;
    int16_t advance_px;
    int16_t left_px, top_px; /* of the mask, from the pen and the baseline (down positive) */
    int16_t w_px, h_px;
    uint8_t *mask; /* NULL for a blank */
};

struct text_face {
    int size_px;
    enum text_weight weight;
    bool is_fallback;
    struct _TTF_Font *font;
    int digit_advance_px;
};

struct text {
    char path[TEXT_N_WEIGHTS][TEXT_PATH_MAX];
    char fallback_path[TEXT_PATH_MAX]; /* for signs that the face lacks; "" = none */
    char family[64];                   /* the family in use */
    int n_faces;
    struct text_face face[TEXT_MAX_FACES];
    int n_glyphs;
    struct text_glyph *glyph; /* TEXT_N_GLYPHS */
    struct _TTF_Font *ruler;  /* for text_fit_px: its lines are measured, not drawn; NULL = none yet */
    int ruler_px;
    enum text_weight ruler_weight;
    struct message why;
};

/* Finds the fonts. language: two letters, for the fallback of signs that B612 lacks. */
enum err text_open(struct text *t, const char *language);

/* Gives everything back; accepts a half-opened or zeroed struct. */
void text_close(struct text *t);

/* Forgets all sizes and glyphs, keeps the fonts found: after a change of the window's size. */
void text_reset(struct text *t);

/* Rasterises every sign of utf8 at that size now. */
void text_preload(struct text *t, int size_px, enum text_weight w, const char *utf8);

/* Advance of the line, pixels. */
int text_width_px(struct text *t, int size_px, enum text_weight w, const char *utf8);

/* Height of the digits above the baseline, pixels: what the reader's eye gets. */
int text_digit_height_px(struct text *t, int size_px, enum text_weight w);

/* The size at most want_px at which utf8 is no wider than width_px; never below min_px. */
int text_fit_px(struct text *t, int want_px, int min_px, enum text_weight w, const char *utf8, int width_px);

/* True when the font in use or the fallback has every sign of utf8. */
bool text_can_show(struct text *t, const char *utf8);

/* Draws one line with its baseline at y; x is the left end, middle or right end. Returns the advance. */
int text_draw(struct text *t, struct paint_picture *p, int x_px, int baseline_px, enum text_align align,
              int size_px, enum text_weight w, uint32_t rgb, double alpha, const char *utf8);

#endif
