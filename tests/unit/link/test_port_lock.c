#define _GNU_SOURCE
#include "link/port_lock.h"
#include "link/source.h"

#include <criterion/criterion.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

static int board;
static char line[64];
static struct source_config config;

static void
plug(void)
{
    board = posix_openpt(O_RDWR | O_NOCTTY);
    cr_assert(board >= 0 && grantpt(board) == 0 && unlockpt(board) == 0);
    snprintf(line, sizeof line, "%s", ptsname(board));
    config = source_config_default();
}

TestSuite(port_lock, .init = plug);

static void
expect_refused_by(const char *word, pid_t pid)
{
    struct source second;
    char process[64];
    snprintf(process, sizeof process, "(process %d)", (int) pid);
    cr_assert_eq(source_open(&second, line, &config), ERR_OS);
    const char *said = message_english(&second.why);
    cr_expect(strstr(said, line) && strstr(said, word) && strstr(said, process), "%s", said);
}

Test(port_lock, a_second_opener_is_refused_with_the_holders_name_and_may_have_it_afterwards)
{
    struct source first;
    cr_assert_eq(source_open(&first, line, &config), ERR_OK, "%s", message_english(&first.why));
    expect_refused_by("test_port_lock", getpid());
    source_close(&first);
    cr_assert_eq(source_open(&first, line, &config), ERR_OK, "%s", message_english(&first.why));
    source_close(&first);
}

/* A POSIX lock would be dropped by the close of the second descriptor. */
Test(port_lock, closing_another_descriptor_of_the_line_keeps_the_lock)
{
    struct source first;
    cr_assert_eq(source_open(&first, line, &config), ERR_OK, "%s", message_english(&first.why));
    const int other = open(line, O_RDWR | O_NOCTTY | O_CLOEXEC);
    cr_assert_geq(other, 0);
    close(other);
    expect_refused_by("test_port_lock", getpid());
    source_close(&first);
}

/* Computed: open() gives the lowest descriptor that is free, the same before and after unless one was left open. */
Test(port_lock, a_refused_opener_leaves_no_descriptor_open)
{
    struct source first, second;
    cr_assert_eq(source_open(&first, line, &config), ERR_OK, "%s", message_english(&first.why));
    const int free_before = dup(board);
    close(free_before);
    cr_assert_eq(source_open(&second, line, &config), ERR_OS);
    const int free_after = dup(board);
    close(free_after);
    cr_expect_eq(free_after, free_before);
    source_close(&first);
}

Test(port_lock, a_refused_opener_has_not_touched_the_lines_settings)
{
    struct source first, second;
    struct termios before, after;
    cr_assert_eq(source_open(&first, line, &config), ERR_OK, "%s", message_english(&first.why));
    cr_assert_eq(tcgetattr(first.fd, &before), 0);
    before.c_lflag |= ECHO;
    cr_assert_eq(tcsetattr(first.fd, TCSANOW, &before), 0);
    cr_assert_eq(source_open(&second, line, &config), ERR_OS);
    cr_assert_eq(tcgetattr(first.fd, &after), 0);
    cr_expect_neq(after.c_lflag & ECHO, 0u);
    source_close(&first);
}

/* As another program, and as a plain user where this one may become one. */
Test(port_lock, the_lock_of_another_process_holds_and_goes_with_it)
{
    int ready[2];
    char byte;
    cr_assert_eq(pipe(ready), 0);
    cr_assert_eq(chmod(line, 0666), 0);
    const pid_t child = fork();
    cr_assert_geq(child, 0);
    if (child == 0) {
        struct source s;
        if (getuid() == 0 && setuid(65534) != 0)
            _exit(2);
        if (source_open(&s, line, &config) != ERR_OK)
            _exit(3);
        if (write(ready[1], "x", 1) != 1)
            _exit(4);
        pause();
        _exit(5);
    }
    cr_assert_eq(read(ready[0], &byte, 1), 1);
    expect_refused_by("test_port_lock", child);
    kill(child, SIGKILL);
    cr_assert_eq(waitpid(child, NULL, 0), child);
    struct source s;
    cr_assert_eq(source_open(&s, line, &config), ERR_OK, "%s", message_english(&s.why));
    source_close(&s);
}

/* Layout of the list: proc(5), from memory. */
Test(port_lock, the_list_is_read_by_device_inode_and_kind_and_a_waiting_one_is_no_holder)
{
    struct stat st;
    char list[] = "/tmp/underfoot-locks-XXXXXX";
    struct port_lock_holder holder;
    cr_assert_eq(stat(line, &st), 0);
    FILE *f = fdopen(mkstemp(list), "w");
    cr_assert(f);
    const unsigned ma = major(st.st_dev), mi = minor(st.st_dev);
    const unsigned long long inode = st.st_ino;
    fprintf(f, "1: POSIX  ADVISORY  WRITE 11 %02x:%02x:%llu 0 EOF\n", ma, mi, inode);
    fprintf(f, "2: FLOCK  ADVISORY  WRITE 12 %02x:%02x:%llu 0 EOF\n", ma + 1, mi, inode);
    fprintf(f, "3: FLOCK  ADVISORY  WRITE 13 %02x:%02x:%llu 0 EOF\n", ma, mi, inode + 1);
    fprintf(f, "4: -> FLOCK  ADVISORY  WRITE 14 %02x:%02x:%llu 0 EOF\n", ma, mi, inode);
    fprintf(f, "5: nonsense\n");
    fflush(f);
    port_lock_find(line, list, &holder);
    cr_expect_eq(holder.pid, 0);
    fprintf(f, "6: FLOCK  ADVISORY  WRITE %d %02x:%02x:%llu 0 EOF\n", (int) getpid(), ma, mi, inode);
    fclose(f);
    port_lock_find(line, list, &holder);
    cr_expect_eq(holder.pid, getpid());
    cr_expect(holder.name[0] != 0);
    unlink(list);
}
