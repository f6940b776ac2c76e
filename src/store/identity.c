#include "store/identity.h"

#include <crypt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <uuid/uuid.h>

/* Drawn once, for this program. */
static const char NAME_SPACE[] = "5d0a6cf2-9a3e-4c41-8f0b-7be1c2d8a964";

bool
identity_random(char out[IDENTITY_MAX])
{
    unsigned char byte[16];
    if (getrandom(byte, sizeof byte, 0) != sizeof byte) /* so few come whole or not at all */
        return false;
    byte[6] = (unsigned char) ((byte[6] & 0x0f) | 0x40); /* version 4 */
    byte[8] = (unsigned char) ((byte[8] & 0x3f) | 0x80); /* RFC 9562's variant */
    uuid_unparse_lower(byte, out);
    return true;
}

void
identity_derived(const char *name, char out[IDENTITY_MAX])
{
    uuid_t space, made;
    uuid_parse(NAME_SPACE, space);
    uuid_generate_sha1(made, space, name, strlen(name));
    uuid_unparse_lower(made, out);
}

bool
identity_is_valid(const char *uuid)
{
    uuid_t ignored;
    return uuid_parse(uuid, ignored) == 0;
}

bool
identity_is_random(const char *uuid)
{
    return identity_is_valid(uuid) && uuid[14] == '4';
}

bool
identity_salt(char out[IDENTITY_SALT_MAX])
{
    return crypt_gensalt_rn("$y$", 0, NULL, 0, out, IDENTITY_SALT_MAX) != NULL; /* draws from the system itself */
}

bool
identity_seal(const char *uuid, const char *salt, char out[IDENTITY_SEAL_MAX])
{
    struct crypt_data *work = calloc(1, sizeof *work);
    if (!work)
        return false;
    const char *sealed = crypt_rn(uuid, salt, work, (int) sizeof *work);
    const bool is_sealed = sealed && strlen(sealed) < IDENTITY_SEAL_MAX;
    if (is_sealed)
        snprintf(out, IDENTITY_SEAL_MAX, "%s", sealed);
    free(work);
    return is_sealed;
}
