/* plural.h - which form a number takes in a language: the expression of a catalogue's Plural-Forms line.
 *
 * In:  "nplurals=2; plural=n != 1;", the C expression in n that the GNU gettext manual describes (chapter "Additional
 *      functions for plural forms").
 * Out: for a count, the index of its form, below n_forms.
 * How: parsed once into steps for a small stack machine; evaluating one takes nothing and can't fail: a division by zero
 *      gives 0, and an index that is no form's gives the last form.
 *
 * Memory: the struct.   Threads: what is parsed is only read.
 * Errors: false when it is no such line, when it is nested too deep or too long; then it is English (n != 1, two forms).
 */
#ifndef BASE_PLURAL_H
#define BASE_PLURAL_H

#include <stdbool.h>
#include <stdint.h>

#define PLURAL_STEPS_MAX 96 /* the longest rule of the manual (Arabic) takes 51 */
#define PLURAL_FORMS_MAX 6  /* the most of any language there (Arabic) */

struct plural {
    int n_forms;
    int n_steps;
    struct {
        uint8_t what;   /* enum plural_step, inside */
        uint32_t value; /* of a number */
    } step[PLURAL_STEPS_MAX];
};

bool plural_parse(struct plural *p, const char *line);

/* The form of count things, 0 .. n_forms - 1. */
int plural_form(const struct plural *p, uint64_t count);

#endif
