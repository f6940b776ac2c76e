/* mark.h - marks English text for people where it stands in a table, so that `make words` finds it.
 *
 * What stands in a call of panel_word() and its like is found without. The words themselves: base/catalogue.h.
 */
#ifndef BASE_MARK_H
#define BASE_MARK_H

/* gettext's usual names for a mark that does nothing, and for one with the context in which the text stands. */
#define N_(english)           english
#define NC_(context, english) english
/* Two: for one thing, and for all other counts. */
#define NP_(one, many)        one, many

#endif
