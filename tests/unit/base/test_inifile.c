#include "base/inifile.h"
#include "base/message.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static struct inifile file;
static char path[64], line[200];
static struct message why;

static void
open_text(const char *text)
{
    strcpy(path, "/tmp/underfoot-test-XXXXXX");
    const int fd = mkstemp(path);
    cr_assert_geq(fd, 0);
    cr_assert_eq(write(fd, text, strlen(text)), (ssize_t) strlen(text));
    close(fd);
    cr_assert_eq(inifile_open(&file, path, "the list", &why), ERR_OK, "%s", message_english(&why));
    unlink(path);
}

Test(inifile, lines_are_counted_and_the_first_refusal_stands)
{
    open_text("one = 1\ntwo = 2\nthree = 3\n");
    cr_assert(inifile_line(line, sizeof line, &file) && inifile_line(line, sizeof line, &file));
    cr_assert_str_eq(line, "two = 2\n");
    cr_assert_eq(inifile_refuse(&file, MESSAGE_PROFILE_NO_NUMBER, "2"), 0);
    cr_assert(inifile_line(line, sizeof line, &file));
    inifile_refuse(&file, MESSAGE_PROFILE_LACKS_KIND, NULL);
    cr_assert_eq(inifile_close(&file, 2), ERR_FORMAT);
    cr_assert_str_eq(strrchr(message_english(&why), '/') + strlen("/underfoot-test-XXXXXX"), ":2: not a number: 2");
}

Test(inifile, a_line_in_which_a_zero_byte_hides_the_rest_is_refused)
{
    static const char bytes[] = "one = 1\ntwo = 2\0, and what nobody sees\nthree = 3\n";
    open_text("");
    FILE *f = tmpfile();
    cr_assert_eq(fwrite(bytes, 1, sizeof bytes - 1, f), sizeof bytes - 1);
    rewind(f);
    fclose(file.f);
    file.f = f;
    cr_assert(inifile_line(line, sizeof line, &file));
    cr_assert_null(inifile_line(line, sizeof line, &file));
    cr_assert_eq(inifile_close(&file, 0), ERR_FORMAT);
    cr_assert(strstr(message_english(&why), ":2: the line has a control sign"), "%s", message_english(&why));
}

Test(inifile, a_line_that_only_the_parser_refused_is_told_when_it_is_the_first)
{
    open_text("one\ntwo = 2\n");
    while (inifile_line(line, sizeof line, &file))
        ;
    inifile_refuse(&file, MESSAGE_PROFILE_NO_NUMBER, "2");
    cr_assert_eq(inifile_close(&file, 1), ERR_FORMAT);
    cr_assert(strstr(message_english(&why), ":1: not a [section]"), "%s", message_english(&why));
}

Test(inifile, a_line_too_long_for_the_parser_is_refused_and_one_that_just_fits_is_not)
{
    char text[256];
    memset(text, 'x', sizeof text);
    strcpy(text + 198, "\n");
    open_text(text);
    cr_assert(inifile_line(line, sizeof line, &file));
    cr_assert_null(inifile_line(line, sizeof line, &file));
    cr_assert_eq(inifile_close(&file, 0), ERR_OK, "%s", message_english(&why));
    memset(text, 'x', sizeof text);
    strcpy(text + 199, "\n");
    open_text(text);
    cr_assert_null(inifile_line(line, sizeof line, &file));
    cr_assert_eq(inifile_close(&file, 0), ERR_FORMAT);
    cr_assert(strstr(message_english(&why), ":1: the line is longer than 198"), "%s", message_english(&why));
}

Test(inifile, what_lacks_as_a_whole_is_refused_after_the_end)
{
    open_text("");
    cr_assert_null(inifile_line(line, sizeof line, &file));
    cr_assert_eq(inifile_close(&file, 0), ERR_OK);
    inifile_refuse(&file, MESSAGE_PLAN_LACKS_NAME, NULL);
    cr_assert(file.bad_line == 1 && strstr(message_english(&why), ":1: the plan ends without a name"), "%s", message_english(&why));
}

Test(inifile, a_file_that_is_not_there_and_one_that_is_a_folder_are_told_apart)
{
    cr_assert_eq(inifile_open(&file, "/tmp/underfoot-no-such-file.ini", "the list", &why), ERR_GONE);
    cr_assert(strstr(message_english(&why), "the list /tmp/underfoot-no-such-file.ini can't be opened: "), "%s", message_english(&why));
    cr_assert_eq(inifile_open(&file, "/tmp", "the list", &why), ERR_OS);
    cr_assert_str_eq(message_english(&why), "the list /tmp can't be opened: it is a folder, no file");
}

/* Opening it must not wait for somebody who writes to it. */
Test(inifile, a_pipe_and_a_device_are_refused_at_once, .timeout = 500)
{
    char folder[] = "/tmp/underfoot-test-XXXXXX", pipe_path[64];
    cr_assert(mkdtemp(folder));
    snprintf(pipe_path, sizeof pipe_path, "%s/list.ini", folder);
    cr_assert_eq(mkfifo(pipe_path, 0600), 0);
    cr_assert_eq(inifile_open(&file, pipe_path, "the list", &why), ERR_OS);
    cr_assert(strstr(message_english(&why), "it is a pipe, no file"), "%s", message_english(&why));
    unlink(pipe_path);
    rmdir(folder);
    cr_assert_eq(inifile_open(&file, "/dev/zero", "the list", &why), ERR_OS);
    cr_assert(strstr(message_english(&why), "it is a device"), "%s", message_english(&why));
}

Test(inifile, a_line_that_is_not_utf8_or_has_control_signs_is_refused_with_its_place)
{
    open_text("one = 1\nname = Sp\xfcren\n"); /* Latin-1 */
    cr_assert(inifile_line(line, sizeof line, &file));
    cr_assert_null(inifile_line(line, sizeof line, &file));
    cr_assert_eq(inifile_close(&file, 0), ERR_FORMAT);
    cr_assert(strstr(message_english(&why), ":2: the line is not UTF-8"), "%s", message_english(&why));
    open_text("name = \x1b[2J\n");
    cr_assert_null(inifile_line(line, sizeof line, &file));
    cr_assert_eq(inifile_close(&file, 0), ERR_FORMAT);
    cr_assert(strstr(message_english(&why), ":1: the line has a control sign"), "%s", message_english(&why));
    open_text("one = 1\r\n"); /* an editor of another system */
    cr_assert(inifile_line(line, sizeof line, &file));
    cr_assert_str_eq(line, "one = 1\n");
    cr_assert_eq(inifile_close(&file, 0), ERR_OK);
}
