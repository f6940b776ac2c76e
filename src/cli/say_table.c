#include "cli/say_table.h"

#include "base/utf8.h"
#include "cli/say.h"
#include "paper/phrase.h"

static void
blanks(FILE *f, int n)
{
    if (n > 0)
        fprintf(f, "%*s", n, "");
}

void
say_cell(FILE *f, const char *text, int width, bool is_right)
{
    const int n = width - phrase_columns(text);
    if (is_right)
        blanks(f, n);
    utf8_print(f, "%s", text);
    if (!is_right)
        blanks(f, n);
}

static int
width_of(const struct say_column *c)
{
    const int n = c->head[0] == '\0' ? 0 : phrase_columns(say_table_word(c->head));
    return n > c->width ? n : c->width;
}

void
say_widen(struct say_column *column, const char *text)
{
    const int n = phrase_columns(text);
    column->width = n > column->width ? n : column->width;
}

static void
put_cell(FILE *f, const struct say_column *c, bool is_last, const char *text)
{
    blanks(f, c->gap);
    say_cell(f, text, is_last && !c->is_right ? 0 : width_of(c), c->is_right);
    if (is_last)
        fputc('\n', f);
}

void
say_head(FILE *f, const struct say_column *column, int n)
{
    for (int i = 0; i < n; i++)
        put_cell(f, &column[i], i == n - 1, column[i].head[0] == '\0' ? "" : say_table_word(column[i].head));
}

void
say_row(FILE *f, const struct say_column *column, int n, const char *const *cell)
{
    for (int i = 0; i < n; i++)
        put_cell(f, &column[i], i == n - 1, cell[i]);
}

int
say_labels_width(const char *const *label, int n)
{
    int width = 0;
    for (int i = 0; i < n; i++) {
        const int places = phrase_columns(say_table_word(label[i]));
        width = places > width ? places : width;
    }
    return width;
}

void
say_label(FILE *f, const char *label, int width)
{
    say_cell(f, say_table_word(label), width + 2, false);
}
