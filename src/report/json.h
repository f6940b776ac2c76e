/* json.h - writes JSON (RFC 8259), correct whatever it is given, member by member.
 *
 * How: the writer keeps the depth and sets commas and indents itself. name is the member's name inside an
 *      object, and NULL inside an array or for the outermost value. NAN, infinities and NULL text become
 *      null. Control characters, quotes and backslashes are escaped; a byte that is not part of valid
 *      UTF-8 becomes U+FFFD.
 * Memory: the struct, nothing else.  Threads: one at a time per writer.
 * Errors: the stream's own (ask ferror()). Unequal open and close calls are our mistake: assert.
 */
#ifndef REPORT_JSON_H
#define REPORT_JSON_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#define JSON_MAX_DEPTH 16

struct json {
    FILE *f;
    int depth;
    bool has_member[JSON_MAX_DEPTH + 1]; /* something stands before at this depth */
    char closing[JSON_MAX_DEPTH + 1];
};

void json_init(struct json *j, FILE *f);
void json_open_object(struct json *j, const char *name);
void json_open_array(struct json *j, const char *name);
/* Closes the innermost object or array; after the outermost one, ends the line. */
void json_close(struct json *j);

void json_text(struct json *j, const char *name, const char *text);
void json_number(struct json *j, const char *name, double value); /* up to 10 significant digits */
void json_int(struct json *j, const char *name, int64_t value);
void json_bool(struct json *j, const char *name, bool value);

#endif
