#include "base/fileio.h"
#include "base/message.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[64];

static void
make_folder(void)
{
    strcpy(folder, "/tmp/underfoot-test-XXXXXX");
    cr_assert_not_null(mkdtemp(folder));
}

static void
remove_folder(void)
{
    char command[128];

    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    cr_assert_eq(system(command), 0);
}

static void
read_file(const char *path, char *out, size_t cap)
{
    FILE *f = fopen(path, "r");

    out[0] = '\0';
    if (f == NULL)
        return;
    out[fread(out, 1, cap - 1, f)] = '\0';
    fclose(f);
}

Test(fileio, the_data_folder_follows_the_variables_in_their_order)
{
    char out[FILEIO_PATH_MAX];
    struct message why;

    setenv("HOME", "/home/somebody", 1);
    setenv("XDG_DATA_HOME", "/xdg", 1);
    setenv("UNDERFOOT_DATA", "/own", 1);
    cr_assert_eq(fileio_data_folder(out, sizeof out, &why), ERR_OK);
    cr_assert_str_eq(out, "/own");
    unsetenv("UNDERFOOT_DATA");
    cr_assert_eq(fileio_data_folder(out, sizeof out, &why), ERR_OK);
    cr_assert_str_eq(out, "/xdg/underfoot");
    setenv("XDG_DATA_HOME", "relative", 1);
    cr_assert_eq(fileio_data_folder(out, sizeof out, &why), ERR_OK);
    cr_assert_str_eq(out, "/home/somebody/.local/share/underfoot");
    unsetenv("XDG_DATA_HOME");
    unsetenv("HOME");
    cr_assert_eq(fileio_data_folder(out, sizeof out, &why), ERR_USAGE);
    cr_assert_not_null(strstr(message_english(&why), "UNDERFOOT_DATA"));
}

Test(fileio, a_made_folder_and_its_parents_are_private, .init = make_folder, .fini = remove_folder)
{
    char path[128];
    struct message why;
    struct stat st;

    snprintf(path, sizeof path, "%s/a/b/c", folder);
    cr_assert_eq(fileio_make_folder(path, &why), ERR_OK);
    cr_assert_eq(stat(path, &st), 0);
    cr_assert_eq(st.st_mode & 0777, 0700);
    cr_assert_eq(fileio_make_folder(path, &why), ERR_OK, "a folder that is there is fine");
    snprintf(path, sizeof path, "%s/a", folder);
    cr_assert_eq(stat(path, &st), 0);
    cr_assert_eq(st.st_mode & 0777, 0700);
}

Test(fileio, a_folder_that_cannot_be_made_is_named)
{
    struct message why;

    cr_assert_eq(fileio_make_folder("/proc/nothing/here", &why), ERR_OS);
    cr_assert_not_null(strstr(message_english(&why), "/proc/nothing"));
    cr_assert_eq(fileio_make_folder("/dev/null/here", &why), ERR_OS);
    cr_assert_not_null(strstr(message_english(&why), "/dev/null"));
}

Test(fileio, a_file_written_aside_appears_whole_or_not_at_all, .init = make_folder, .fini = remove_folder)
{
    char path[128], text[64];
    struct message why;
    struct fileio_aside a;
    struct stat st;

    snprintf(path, sizeof path, "%s/page.txt", folder);
    cr_assert_eq(fileio_aside_open(&a, path, 0600, &why), ERR_OK);
    fputs("first", a.f);
    fflush(a.f);
    cr_assert_neq(access(path, F_OK), 0, "nothing under the name before commit");
    cr_assert_eq(fileio_aside_commit(&a, &why), ERR_OK);
    read_file(path, text, sizeof text);
    cr_assert_str_eq(text, "first");
    cr_assert_eq(stat(path, &st), 0);
    cr_assert_eq(st.st_mode & 0777, 0600);

    cr_assert_eq(fileio_aside_open(&a, path, 0600, &why), ERR_OK);
    fputs("second, never finished", a.f);
    fileio_aside_abandon(&a);
    fileio_aside_abandon(&a);
    read_file(path, text, sizeof text);
    cr_assert_str_eq(text, "first");
    cr_assert_neq(access(a.aside, F_OK), 0, "the aside file is gone");
}

Test(fileio, a_full_disc_leaves_the_old_file, .init = make_folder, .fini = remove_folder)
{
    char path[128], text[64];
    struct message why;
    struct fileio_aside a;

    snprintf(path, sizeof path, "%s/page.txt", folder);
    cr_assert_eq(fileio_aside_open(&a, path, 0600, &why), ERR_OK);
    fputs("first", a.f);
    cr_assert_eq(fileio_aside_commit(&a, &why), ERR_OK);
    cr_assert_eq(fileio_aside_open(&a, path, 0600, &why), ERR_OK);
    /* The device that is always full stands in for the disc. */
    cr_assert_not_null(freopen("/dev/full", "w", a.f));
    fputs("second", a.f);
    cr_assert_eq(fileio_aside_commit(&a, &why), ERR_OS);
    cr_assert_not_null(strstr(message_english(&why), path));
    cr_assert_not_null(strstr(message_english(&why), "No space left"), "%s", message_english(&why));
    read_file(path, text, sizeof text);
    cr_assert_str_eq(text, "first");
    cr_assert_neq(access(a.aside, F_OK), 0, "the aside file is gone");
}

Test(fileio, the_folder_of_a_path_and_a_name_beside_it)
{
    static const char *const rows[][3] = { /* path, its folder, beside it */
        { "/a/b.sqlite", "/a", "/a/x" }, { "a/b.sqlite", "a", "a/x" }, { "/b.sqlite", "/", "/x" }, { "b.sqlite", ".", "x" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char out[32];
        fileio_folder_of(out, sizeof out, rows[i][0]);
        cr_assert_str_eq(out, rows[i][1], "%s", rows[i][0]);
        cr_assert(fileio_beside(out, sizeof out, rows[i][0], "x"));
        cr_assert_str_eq(out, rows[i][2], "%s", rows[i][0]);
    }
    char tight[5];
    cr_assert(fileio_beside(tight, sizeof tight, "/a/b", "x") && !fileio_beside(tight, sizeof tight, "/a/b", "xy"));
    cr_assert(fileio_free_bytes("/") >= 0 && fileio_free_bytes("/no such folder") == -1);
}
