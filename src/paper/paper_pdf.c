/* paper_pdf.c - says a PDF's language, which cairo 1.16 can't: its catalog is written once more behind its end, as PDF lets a
 * file be amended (ISO 32000-1, 7.5.6), with /Lang, and with its title to be shown instead of its file's name. */
#include "paper/paper.h"

#include <stdlib.h>
#include <string.h>

/* The last place of word; NULL: nowhere. pdf ends with a zero that is not in len. */
static const char *
last_of(const char *pdf, size_t len, const char *word)
{
    const size_t n = strlen(word);
    for (const char *at = pdf + (len > n ? len - n : 0); at > pdf; at--)
        if (memcmp(at, word, n) == 0)
            return at;
    return NULL;
}

/* The number behind the last place of word. */
static bool
number_after(const char *pdf, size_t len, const char *word, long *out)
{
    const char *at = last_of(pdf, len, word);
    if (at)
        *out = strtol(at + strlen(word), NULL, 10);
    return at != NULL;
}

bool
paper_pdf_put(FILE *f, const char *pdf, size_t len, const char *language)
{
    long root = 0, info = 0, size = 0, xref = 0;
    const char *inside = last_of(pdf, len, "/Type /Catalog"), *end = inside ? strstr(inside, "endobj") : NULL;
    if (fwrite(pdf, 1, len, f) != len)
        return false;
    if (!end || !number_after(pdf, len, "/Root ", &root) || !number_after(pdf, len, "/Info ", &info) ||
        !number_after(pdf, len, "/Size ", &size) || !number_after(pdf, len, "startxref", &xref))
        return true; /* whole, but for its language */
    const int n = fprintf(f,
                          "%ld 0 obj\n<< /Lang (%s)\n   /MarkInfo << /Marked true >>\n   /ViewerPreferences << /DisplayDocTitle true >>\n"
                          "   %.*sendobj\n",
                          root, language, (int) (end - inside), inside);
    return n > 0 && fprintf(f, "xref\n%ld 1\n%010zu 00000 n \ntrailer\n<< /Size %ld /Root %ld 0 R /Info %ld 0 R /Prev %ld >>\n", root, len, size,
                            root, info, xref) > 0 &&
           fprintf(f, "startxref\n%zu\n%%%%EOF\n", len + (size_t) n) > 0;
}
