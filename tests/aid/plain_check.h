/* plain_check.h - the check of tests with a main of their own, which Criterion can't run (thread sanitizer). */
#ifndef AID_PLAIN_CHECK_H
#define AID_PLAIN_CHECK_H

#include <stdio.h>

/* Leaves the function with 1, after one line on stderr, when the condition does not hold. */
#define CHECK(condition)                                                                                     \
    do {                                                                                                     \
        if (!(condition)) {                                                                                  \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #condition);                          \
            return 1;                                                                                        \
        }                                                                                                    \
    } while (0)

#endif
