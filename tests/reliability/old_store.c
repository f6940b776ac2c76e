/* old_store.c - prints the statements that make an empty store as an older version of the program left it.
 *
 * old_store VERSION   (1 to the one before today's; 0: that one)
 */
#include "store/schema.h"

#include <stdio.h>
#include <stdlib.h>

int
main(int argc, char **argv)
{
    int version = argc > 1 ? atoi(argv[1]) : 0;
    if (version <= 0 || version >= SCHEMA_VERSION)
        version = SCHEMA_VERSION - 1;
    for (int i = 0; i < version; i++)
        for (const char *const *p = SCHEMA_MIGRATION[i]; *p != NULL; p++)
            printf("%s;\n", *p);
    printf("ALTER TABLE step ADD COLUMN contact_ms REAL;\nALTER TABLE step ADD COLUMN cadence_spm REAL;\n");
    printf("PRAGMA application_id = %d;\nPRAGMA user_version = %d;\n", SCHEMA_APPLICATION_ID, version);
    return 0;
}
