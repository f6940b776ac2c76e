/* identity.h - what a runner or a visit is told by wherever its copy goes: a UUID (RFC 9562), beside the code that people see.
 *
 *      random     version 4, from the system's own source of chance: every row that is made from version 7 of the tables on.
 *                 It says nothing of anybody.
 *      derived    version 5 (a hash of a name in a name space of ours): rows from before, by their number in the store and the
 *                 moment of their creation, neither of which ever changes. The code is not in it: it can be changed (and be
 *                 guessed), and two kept copies, one from before that and one from after, must agree.
 *      sealed     yescrypt of a derived one, with a salt that is drawn by chance for each list: what stays of it once its runner is
 *                 forgotten (forgotten.h). A derived one itself would be too much: who tries all numbers and moments, some
 *                 10^11 of a day, finds in minutes when a runner was first entered. Sealed, each try costs some 30 ms.
 *
 * Threads: any.   Memory: identity_seal() some MiB while it runs.
 * Errors: false, when the system gives no chance or no memory.
 */
#ifndef STORE_IDENTITY_H
#define STORE_IDENTITY_H

#include <stdbool.h>
#include <stdint.h>

#define IDENTITY_MAX      40  /* bytes of a UUID's text, with its end */
#define IDENTITY_SALT_MAX 192 /* what crypt(3) asks for */
#define IDENTITY_SEAL_MAX 128 /* such as $y$j9T$SALT$HASH */

bool identity_random(char out[IDENTITY_MAX]);

/* The same name gives the same UUID, anywhere and at any time. */
void identity_derived(const char *name, char out[IDENTITY_MAX]);

bool identity_is_valid(const char *uuid);
bool identity_is_random(const char *uuid); /* a valid one of version 4 */

bool identity_salt(char out[IDENTITY_SALT_MAX]);
bool identity_seal(const char *uuid, const char *salt, char out[IDENTITY_SEAL_MAX]);

#endif
