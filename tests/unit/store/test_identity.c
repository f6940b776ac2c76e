/* test_identity.c - identifiers: drawn by chance, derived, sealed. */
#include "store/identity.h"

#include <criterion/criterion.h>
#include <string.h>

Test(identity, a_random_one_is_of_version_4_and_never_comes_twice)
{
    char a[IDENTITY_MAX], b[IDENTITY_MAX];
    cr_assert(identity_random(a) && identity_random(b));
    cr_expect_eq(strlen(a), 36);
    cr_expect_eq(a[14], '4');                        /* RFC 9562, 4.2: the version */
    cr_expect_not_null(strchr("89ab", a[19]), "%s", a); /* RFC 9562, 4.1: the variant, binary 10xx */
    cr_expect(identity_is_random(a));
    cr_expect_str_neq(a, b);
}

/* Computed by Python's uuid.uuid5(UUID('5d0a6cf2-9a3e-4c41-8f0b-7be1c2d8a964'), NAME). */
Test(identity, a_derived_one_is_the_same_for_the_same_name)
{
    char a[IDENTITY_MAX], b[IDENTITY_MAX];
    identity_derived("runner 1 1764250000123", a);
    cr_expect_str_eq(a, "986810ac-3f8f-5b8e-afb1-f15a0150f74a");
    identity_derived("runner 2 1764250000123", b);
    cr_expect_str_eq(b, "8dfa5a72-27b7-50c3-a241-71196d8a5963");
    cr_expect(identity_is_valid(a) && !identity_is_random(a));
}

Test(identity, what_is_no_uuid_is_none)
{
    cr_expect(!identity_is_valid(""));
    cr_expect(!identity_is_valid("R-014"));
    cr_expect(!identity_is_random("5d0a6cf2-9a3e-4c41-8f0b-7be1c2d8a96"));
}

Test(identity, a_sealed_one_is_found_again_by_the_same_salt_only)
{
    char salt[2][IDENTITY_SALT_MAX], a[IDENTITY_SEAL_MAX], b[IDENTITY_SEAL_MAX], c[IDENTITY_SEAL_MAX];
    static const char uuid[] = "986810ac-3f8f-5b8e-afb1-f15a0150f74a";
    cr_assert(identity_salt(salt[0]) && identity_salt(salt[1]));
    cr_assert(identity_seal(uuid, salt[0], a) && identity_seal(uuid, salt[0], b) && identity_seal(uuid, salt[1], c));
    cr_expect_str_eq(a, b);
    cr_expect_str_neq(a, c);
    cr_expect_null(strstr(a, "986810ac"));
    cr_expect(!identity_seal(uuid, "*0", a), "a salt that is none is refused"); /* crypt(5): '*' begins no setting */
}
