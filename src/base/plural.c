#include "base/plural.h"

#include <ctype.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define DEPTH_MAX 24 /* of brackets, and of signs before a value */

enum plural_step {
    STEP_N,
    STEP_NUMBER,
    STEP_NOT,
    STEP_TIMES,
    STEP_OVER,
    STEP_MOD,
    STEP_PLUS,
    STEP_MINUS,
    STEP_LESS,
    STEP_LESS_EQUAL,
    STEP_MORE,
    STEP_MORE_EQUAL,
    STEP_EQUAL,
    STEP_UNEQUAL,
    STEP_AND,
    STEP_OR,
    STEP_CHOOSE, /* of condition, then, else: nothing in the expression has an effect, so both are worked out */
};

struct reader {
    struct plural *p;
    const char *at;
    int depth;
    bool is_bad;
};

static void read_choice(struct reader *r);

static void
put_step(struct reader *r, enum plural_step what, uint32_t value)
{
    if (r->p->n_steps == PLURAL_STEPS_MAX) {
        r->is_bad = true;
        return;
    }
    r->p->step[r->p->n_steps].what = (uint8_t) what;
    r->p->step[r->p->n_steps++].value = value;
}

/* True, and past it, when sign comes next; a longer sign that begins alike (< of <=) is not it. */
static bool
is_next(struct reader *r, const char *sign)
{
    const size_t len = strlen(sign);
    while (isspace((unsigned char) *r->at))
        r->at++;
    if (strncmp(r->at, sign, len) != 0 || (len == 1 && strchr("<>!", sign[0]) && r->at[1] == '='))
        return false;
    r->at += len;
    return true;
}

/* NOLINTBEGIN(misc-no-recursion): an expression holds expressions; DEPTH_MAX of them. */
static void
read_value(struct reader *r)
{
    if (r->is_bad || ++r->depth > DEPTH_MAX) {
        r->is_bad = true;
        return;
    }
    if (is_next(r, "!")) {
        read_value(r);
        put_step(r, STEP_NOT, 0);
    } else if (is_next(r, "(")) {
        read_choice(r);
        r->is_bad = r->is_bad || !is_next(r, ")");
    } else if (is_next(r, "n")) {
        put_step(r, STEP_N, 0);
    } else if (isdigit((unsigned char) *r->at)) {
        char *end;
        const unsigned long value = strtoul(r->at, &end, 10);
        r->at = end;
        r->is_bad = r->is_bad || value > UINT32_MAX;
        put_step(r, STEP_NUMBER, (uint32_t) value);
    } else {
        r->is_bad = true;
    }
    r->depth--;
}

/* The operators of two values, from the tightest to the loosest. */
static const struct {
    const char *sign;
    enum plural_step what;
    int rank;
} OPERATOR[] = {
    { "*", STEP_TIMES, 0 },       { "/", STEP_OVER, 0 },        { "%", STEP_MOD, 0 },  { "+", STEP_PLUS, 1 },
    { "-", STEP_MINUS, 1 },       { "<=", STEP_LESS_EQUAL, 2 }, { "<", STEP_LESS, 2 }, { ">=", STEP_MORE_EQUAL, 2 },
    { ">", STEP_MORE, 2 },        { "==", STEP_EQUAL, 3 },      { "!=", STEP_UNEQUAL, 3 }, { "&&", STEP_AND, 4 },
    { "||", STEP_OR, 5 },
};

#define N_OPERATORS ((int) (sizeof OPERATOR / sizeof OPERATOR[0]))
#define LOOSEST     5

/* The operator of that rank which comes next, and past it; N_OPERATORS: none. */
static int
next_operator(struct reader *r, int rank)
{
    for (int i = 0; i < N_OPERATORS; i++)
        if (OPERATOR[i].rank == rank && is_next(r, OPERATOR[i].sign))
            return i;
    return N_OPERATORS;
}

static void
read_operators(struct reader *r, int rank)
{
    if (rank < 0) {
        read_value(r);
        return;
    }
    read_operators(r, rank - 1);
    for (int i = next_operator(r, rank); i < N_OPERATORS && !r->is_bad; i = next_operator(r, rank)) {
        read_operators(r, rank - 1);
        put_step(r, OPERATOR[i].what, 0);
    }
}

static void
read_choice(struct reader *r)
{
    if (r->is_bad || ++r->depth > DEPTH_MAX) {
        r->is_bad = true;
        return;
    }
    read_operators(r, LOOSEST);
    if (is_next(r, "?")) {
        read_choice(r);
        r->is_bad = r->is_bad || !is_next(r, ":");
        read_choice(r);
        put_step(r, STEP_CHOOSE, 0);
    }
    r->depth--;
}
/* NOLINTEND(misc-no-recursion) */

static void
make_english(struct plural *p)
{
    *p = (struct plural){ .n_forms = 2, .n_steps = 3 };
    p->step[0].what = STEP_N;
    p->step[1].what = STEP_NUMBER;
    p->step[1].value = 1;
    p->step[2].what = STEP_UNEQUAL;
}

bool
plural_parse(struct plural *p, const char *line)
{
    const char *forms = strstr(line, "nplurals="), *rule = strstr(line, "plural=");
    *p = (struct plural){ 0 };
    if (forms && rule) {
        struct reader r = { .p = p, .at = rule + strlen("plural=") };
        p->n_forms = atoi(forms + strlen("nplurals="));
        read_choice(&r);
        if (!r.is_bad && (is_next(&r, ";") || *r.at == '\0') && p->n_forms >= 1 && p->n_forms <= PLURAL_FORMS_MAX)
            return true;
    }
    make_english(p);
    return false;
}

static uint64_t
two_values(enum plural_step what, uint64_t a, uint64_t b)
{
    switch (what) {
    case STEP_TIMES: return a * b;
    case STEP_OVER: return b == 0 ? 0 : a / b;
    case STEP_MOD: return b == 0 ? 0 : a % b;
    case STEP_PLUS: return a + b;
    case STEP_MINUS: return a - b;
    case STEP_LESS: return a < b;
    case STEP_LESS_EQUAL: return a <= b;
    case STEP_MORE: return a > b;
    case STEP_MORE_EQUAL: return a >= b;
    case STEP_EQUAL: return a == b;
    case STEP_UNEQUAL: return a != b;
    case STEP_AND: return a && b;
    case STEP_OR: return a || b;
    case STEP_N:
    case STEP_NUMBER:
    case STEP_NOT:
    case STEP_CHOOSE: break;
    }
    return 0;
}

int
plural_form(const struct plural *p, uint64_t count)
{
    uint64_t stack[PLURAL_STEPS_MAX] = { 0 };
    int top = -1; /* what was parsed never takes more than it has put */
    for (int i = 0; i < p->n_steps; i++) {
        const enum plural_step what = (enum plural_step) p->step[i].what;
        if (what == STEP_N || what == STEP_NUMBER) {
            stack[++top] = what == STEP_N ? count : p->step[i].value;
        } else if (what == STEP_NOT) {
            stack[top] = !stack[top];
        } else if (what == STEP_CHOOSE) {
            top -= 2;
            stack[top] = stack[top] ? stack[top + 1] : stack[top + 2];
        } else {
            top--;
            stack[top] = two_values(what, stack[top], stack[top + 1]);
        }
    }
    const uint64_t form = top == 0 ? stack[0] : 0;
    return form < (uint64_t) p->n_forms ? (int) form : p->n_forms - 1;
}
