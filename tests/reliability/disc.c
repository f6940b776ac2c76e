/* disc.c - stands between a program and the disc: logs, fails or ends it at each call that changes a file.
 *
 * In:  disc [options] -- PROGRAM [WORDS...]
 *      --under PATH     files whose path begins so are watched; up to UNDER_MAX of them
 *      --log FILE       one line a call, and FILE.data, what was written
 *      --tally FILE     at the end: how many calls were counted, how many of them failed
 *      --kinds LETTERS  which calls are counted (all): o open to write or make, w write, s sync, t truncate,
 *                       r rename and link, u unlink, m mkdir
 *      --fail N         the Nth counted call is refused ...
 *      --with ERRNO     ... with this number
 *      --for N          ... and with it N - 1 more (1); 0: all that come
 *      --for-ms MS      ... or all that come in so long
 *      --while FILE     ... or, without N, all that come while there is such a file
 *      --kill N         before the Nth counted call the program is killed (SIGKILL), by its id
 * Out: the program's own exit code; 128 plus the signal that ended it; 125 when it could not be watched.
 *
 * How: a seccomp filter in the program asks us before each such call, in every thread, whoever makes it: SQLite, stdio or
 * the program. So the store's file and all others are met the same way, by the one door that all of them go through. The
 * call is logged and then let go on, or answered with an error in the kernel's stead; calls are answered one by one, so
 * that the log has an order. What it writes to stdout and stderr is logged as `say`.
 *
 * A line of the log: number, milliseconds, kind, path, second path or -, offset, length, where in FILE.data, 0 or the
 * error it was given, the file's inode where it is open (else 0). kind: write, sync, truncate, allocate, create, open,
 * rename, link, unlink, mkdir, say. Between: tabs.
 */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { UNDER_MAX = 4, DISC_PATH_MAX = 1024, DATA_MAX = 16 << 20, COULD_NOT_WATCH = 125 };

struct options {
    const char *under[UNDER_MAX];
    int n_under;
    const char *log, *tally, *kinds, *gate;
    long fail_at, n_fail, fail_ms, kill_at;
    int with;
};

/* One call, as the log has it. letter 0: none that is counted. */
struct deed {
    char letter;
    const char *kind;
    char path[DISC_PATH_MAX], other[DISC_PATH_MAX];
    int64_t offset;
    unsigned long inode;
    size_t len; /* of what lies in disc.data; a truncation's and a sync's is 0 */
};

struct disc {
    struct options o;
    pid_t child;
    FILE *log, *data_file;
    uint8_t *data;
    int64_t data_at;
    long n_logged, n_counted, n_failed;
    int64_t begun_ms, failing_since_ms; /* < 0: not yet */
};

static int64_t
now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t) t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

/* ------------------------------------------------------------------ what lies in the program */

static size_t
read_there(pid_t pid, uint64_t at, void *out, size_t len)
{
    const struct iovec here = { out, len }, there = { (void *) (uintptr_t) at, len };
    const ssize_t n = process_vm_readv(pid, &here, 1, &there, 1, 0);
    return n < 0 ? 0 : (size_t) n;
}

static void
read_word(pid_t pid, uint64_t at, char out[DISC_PATH_MAX])
{
    size_t n = 0;
    for (; n + 1 < DISC_PATH_MAX && read_there(pid, at + n, out + n, 1) == 1 && out[n] != '\0'; n++)
        ;
    out[n] = '\0';
}

static void
path_of_fd(pid_t pid, int fd, char out[DISC_PATH_MAX])
{
    char link[64];
    snprintf(link, sizeof link, fd == AT_FDCWD ? "/proc/%d/cwd" : "/proc/%d/fd/%d", (int) pid, fd);
    const ssize_t n = readlink(link, out, DISC_PATH_MAX - 1);
    out[n < 0 ? 0 : n] = '\0';
}

/* Of an open file; its name may be gone, or another's. */
static unsigned long
inode_of_fd(pid_t pid, int fd)
{
    char link[64];
    struct stat st;
    snprintf(link, sizeof link, "/proc/%d/fd/%d", (int) pid, fd);
    return stat(link, &st) == 0 ? (unsigned long) st.st_ino : 0;
}

/* A name of a call, seen from the root. */
static void
path_at(pid_t pid, int folder, uint64_t name_at, char out[DISC_PATH_MAX])
{
    char name[DISC_PATH_MAX], from[DISC_PATH_MAX];
    read_word(pid, name_at, name);
    path_of_fd(pid, folder, from);
    if (name[0] == '/' || snprintf(out, DISC_PATH_MAX, "%s/%s", from, name) >= DISC_PATH_MAX)
        memcpy(out, name, sizeof name);
}

/* Where a write without a place goes. */
static int64_t
place_of(pid_t pid, int fd)
{
    char path[64], line[128];
    long long pos = 0;
    unsigned flags = 0;
    snprintf(path, sizeof path, "/proc/%d/fdinfo/%d", (int) pid, fd);
    FILE *f = fopen(path, "r");
    while (f && fgets(line, sizeof line, f)) {
        sscanf(line, "pos: %lld", &pos);
        sscanf(line, "flags: %o", &flags);
    }
    if (f)
        fclose(f);
    struct stat st;
    snprintf(path, sizeof path, "/proc/%d/fd/%d", (int) pid, fd);
    return (flags & O_APPEND) && stat(path, &st) == 0 ? (int64_t) st.st_size : pos;
}

/* ------------------------------------------------------------------ what a call does */

static void
see_write(struct disc *d, const struct seccomp_notif *n, struct deed *out)
{
    const int nr = n->data.nr, fd = (int) n->data.args[0];
    const pid_t pid = (pid_t) n->pid;
    const bool has_place = nr == SYS_pwrite64 || nr == SYS_pwritev || nr == SYS_pwritev2;
    path_of_fd(pid, fd, out->path);
    out->inode = inode_of_fd(pid, fd);
    out->letter = 'w';
    out->kind = fd == STDOUT_FILENO || fd == STDERR_FILENO ? "say" : "write";
    out->offset = has_place ? (int64_t) n->data.args[3] : place_of(pid, fd);
    if (nr == SYS_write || nr == SYS_pwrite64) {
        const size_t len = n->data.args[2] < DATA_MAX ? n->data.args[2] : DATA_MAX;
        out->len = read_there(pid, n->data.args[1], d->data, len);
        return;
    }
    for (uint64_t i = 0; i < n->data.args[2]; i++) {
        struct iovec v;
        if (read_there(pid, n->data.args[1] + i * sizeof v, &v, sizeof v) != sizeof v)
            break;
        const size_t room = DATA_MAX - out->len;
        out->len += read_there(pid, (uint64_t) (uintptr_t) v.iov_base, d->data + out->len, v.iov_len < room ? v.iov_len : room);
    }
}

static void
see_open(const struct seccomp_notif *n, struct deed *out)
{
    const bool is_at = n->data.nr == SYS_openat;
    const uint64_t flags = n->data.nr == SYS_creat ? O_CREAT | O_WRONLY | O_TRUNC : n->data.args[is_at ? 2 : 1];
    struct stat st;
    if ((flags & (O_WRONLY | O_RDWR | O_CREAT | O_TRUNC)) == 0)
        return;
    path_at((pid_t) n->pid, is_at ? (int) n->data.args[0] : AT_FDCWD, n->data.args[is_at ? 1 : 0], out->path);
    out->letter = 'o';
    if (stat(out->path, &st) != 0)
        out->kind = flags & O_CREAT ? "create" : "open";
    else
        out->kind = flags & O_TRUNC ? "truncate" : "open";
}

static void
see_two_paths(const struct seccomp_notif *n, struct deed *out)
{
    const int nr = n->data.nr;
    const bool is_at = nr != SYS_rename && nr != SYS_link;
    out->letter = 'r';
    out->kind = nr == SYS_link || nr == SYS_linkat ? "link" : "rename";
    path_at((pid_t) n->pid, is_at ? (int) n->data.args[0] : AT_FDCWD, n->data.args[is_at ? 1 : 0], out->path);
    path_at((pid_t) n->pid, is_at ? (int) n->data.args[2] : AT_FDCWD, n->data.args[is_at ? 3 : 1], out->other);
}

static void
see(struct disc *d, const struct seccomp_notif *n, struct deed *out)
{
    const pid_t pid = (pid_t) n->pid;
    const uint64_t *args = (const uint64_t *) n->data.args;
    memset(out, 0, sizeof *out);
    switch (n->data.nr) {
    case SYS_write: case SYS_pwrite64: case SYS_writev: case SYS_pwritev: case SYS_pwritev2:
        see_write(d, n, out);
        break;
    case SYS_open: case SYS_openat: case SYS_creat:
        see_open(n, out);
        break;
    case SYS_fsync: case SYS_fdatasync:
        *out = (struct deed){ .letter = 's', .kind = "sync" };
        path_of_fd(pid, (int) args[0], out->path);
        out->inode = inode_of_fd(pid, (int) args[0]);
        break;
    case SYS_ftruncate:
        *out = (struct deed){ .letter = 't', .kind = "truncate", .offset = (int64_t) args[1] };
        path_of_fd(pid, (int) args[0], out->path);
        out->inode = inode_of_fd(pid, (int) args[0]);
        break;
    case SYS_fallocate: /* SQLite and we make a file longer by it, with zeros */
        *out = (struct deed){ .letter = 't', .kind = "allocate", .offset = (int64_t) (args[2] + args[3]) };
        path_of_fd(pid, (int) args[0], out->path);
        out->inode = inode_of_fd(pid, (int) args[0]);
        break;
    case SYS_rename: case SYS_renameat: case SYS_renameat2: case SYS_link: case SYS_linkat:
        see_two_paths(n, out);
        break;
    case SYS_unlink: case SYS_rmdir: case SYS_unlinkat:
        *out = (struct deed){ .letter = 'u', .kind = "unlink" };
        path_at(pid, n->data.nr == SYS_unlinkat ? (int) args[0] : AT_FDCWD, args[n->data.nr == SYS_unlinkat], out->path);
        break;
    case SYS_mkdir: case SYS_mkdirat:
        *out = (struct deed){ .letter = 'm', .kind = "mkdir" };
        path_at(pid, n->data.nr == SYS_mkdirat ? (int) args[0] : AT_FDCWD, args[n->data.nr == SYS_mkdirat], out->path);
        break;
    default:
        break;
    }
}

/* ------------------------------------------------------------------ what becomes of it */

static bool
is_watched(const struct disc *d, const struct deed *deed)
{
    for (int i = 0; i < d->o.n_under; i++) {
        const size_t len = strlen(d->o.under[i]);
        if (strncmp(deed->path, d->o.under[i], len) == 0 || strncmp(deed->other, d->o.under[i], len) == 0)
            return true;
    }
    return false;
}

static void
write_line(struct disc *d, const struct deed *deed, int error)
{
    d->n_logged++;
    if (!d->log)
        return;
    fprintf(d->log, "%ld\t%lld\t%s\t%s\t%s\t%lld\t%zu\t%lld\t%d\t%lu\n", d->n_logged, (long long) (now_ms() - d->begun_ms), deed->kind,
            deed->path, deed->other[0] ? deed->other : "-", (long long) deed->offset, deed->len, (long long) d->data_at, error,
            deed->inode);
    if (fwrite(d->data, 1, deed->len, d->data_file) != deed->len)
        exit(COULD_NOT_WATCH);
    d->data_at += (int64_t) deed->len;
}

static bool
is_to_fail(struct disc *d)
{
    const struct options *o = &d->o;
    if (o->gate)
        return access(o->gate, F_OK) == 0;
    if (o->fail_at == 0 || d->n_counted < o->fail_at)
        return false;
    if (d->failing_since_ms < 0)
        d->failing_since_ms = now_ms();
    if (o->fail_ms > 0)
        return now_ms() - d->failing_since_ms < o->fail_ms;
    return o->n_fail == 0 || d->n_counted < o->fail_at + o->n_fail;
}

/* The error to answer with; 0: the call goes on. */
static int
judge(struct disc *d, const struct deed *deed)
{
    int error = 0;
    if (!deed->kind)
        return 0;
    if (strcmp(deed->kind, "say") == 0) {
        write_line(d, deed, 0);
        return 0;
    }
    if (!is_watched(d, deed))
        return 0;
    if (strchr(d->o.kinds, deed->letter)) {
        d->n_counted++;
        if (d->n_counted == d->o.kill_at)
            kill(d->child, SIGKILL);
        if (is_to_fail(d)) {
            error = d->o.with;
            d->n_failed++;
        }
    }
    write_line(d, deed, error);
    return error;
}

static void
watch(struct disc *d, int listener)
{
    struct deed deed;
    for (;;) {
        struct pollfd p = { .fd = listener, .events = POLLIN };
        struct seccomp_notif n;
        struct seccomp_notif_resp answer;
        if (poll(&p, 1, -1) < 0 && errno == EINTR)
            continue;
        if (!(p.revents & POLLIN))
            return; /* hung up: nobody is left who could ask */
        memset(&n, 0, sizeof n);
        if (ioctl(listener, SECCOMP_IOCTL_NOTIF_RECV, &n) != 0) {
            if (errno == EINTR || errno == ENOENT)
                continue;
            return;
        }
        see(d, &n, &deed);
        memset(&answer, 0, sizeof answer);
        answer.id = n.id;
        answer.error = -judge(d, &deed);
        answer.flags = answer.error == 0 ? SECCOMP_USER_NOTIF_FLAG_CONTINUE : 0;
        (void) ioctl(listener, SECCOMP_IOCTL_NOTIF_SEND, &answer); /* refused only when the asker is gone */
    }
}

/* ------------------------------------------------------------------ the filter, in the program */

#define ASK(nr) BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, (nr), 0, 1), BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_USER_NOTIF)

static int
install_filter(void)
{
    struct sock_filter code[] = {
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, nr)),
        ASK(SYS_write), ASK(SYS_pwrite64), ASK(SYS_writev), ASK(SYS_pwritev), ASK(SYS_pwritev2), ASK(SYS_fsync), ASK(SYS_fdatasync),
        ASK(SYS_ftruncate), ASK(SYS_fallocate), ASK(SYS_rename), ASK(SYS_renameat), ASK(SYS_renameat2), ASK(SYS_link),
        ASK(SYS_linkat), ASK(SYS_unlink), ASK(SYS_rmdir), ASK(SYS_unlinkat), ASK(SYS_mkdir), ASK(SYS_mkdirat), ASK(SYS_creat),
        /* Most opens only read: of those nobody is asked. */
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_openat, 0, 2),
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, args[2])),
        BPF_STMT(BPF_JMP | BPF_JA | BPF_K, 2),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_open, 0, 3),
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, args[1])),
        BPF_JUMP(BPF_JMP | BPF_JSET | BPF_K, O_WRONLY | O_RDWR | O_CREAT | O_TRUNC, 0, 1),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_USER_NOTIF),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW),
    };
    const struct sock_fprog program = { .len = sizeof code / sizeof *code, .filter = code };
    if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0)
        return -1;
    const unsigned flags = SECCOMP_FILTER_FLAG_NEW_LISTENER;
    /* Where the kernel can: an asker who waits is disturbed by no signal but a deadly one, and so asks but once. */
    const long fd = syscall(SYS_seccomp, SECCOMP_SET_MODE_FILTER, flags | SECCOMP_FILTER_FLAG_WAIT_KILLABLE_RECV, &program);
    return (int) (fd >= 0 ? fd : syscall(SYS_seccomp, SECCOMP_SET_MODE_FILTER, flags, &program));
}

/* sendmsg and recvmsg: no call that is asked about. */
static int
pass_fd(int through, int fd)
{
    char byte = 'f', room[CMSG_SPACE(sizeof fd)] = { 0 };
    struct iovec v = { &byte, 1 };
    struct msghdr m = { .msg_iov = &v, .msg_iovlen = 1, .msg_control = room, .msg_controllen = sizeof room };
    struct cmsghdr *c = CMSG_FIRSTHDR(&m);
    if (fd < 0) { /* take */
        if (recvmsg(through, &m, MSG_CMSG_CLOEXEC) != 1 || !(c = CMSG_FIRSTHDR(&m)))
            return -1;
        memcpy(&fd, CMSG_DATA(c), sizeof fd);
        return fd;
    }
    c->cmsg_level = SOL_SOCKET;
    c->cmsg_type = SCM_RIGHTS;
    c->cmsg_len = CMSG_LEN(sizeof fd);
    memcpy(CMSG_DATA(c), &fd, sizeof fd);
    return sendmsg(through, &m, 0) == 1 ? fd : -1;
}

static void
become_program(int through, char **words)
{
    const int listener = install_filter();
    if (listener < 0 || pass_fd(through, listener) < 0)
        _exit(COULD_NOT_WATCH);
    close(listener);
    close(through);
    execvp(words[0], words);
    _exit(COULD_NOT_WATCH);
}

/* ------------------------------------------------------------------ begin and end */

static char **
read_options(struct options *o, char **words)
{
    *o = (struct options){ .kinds = "owstrum", .n_fail = 1, .with = EIO };
    for (; *words && strcmp(*words, "--") != 0; words += 2) {
        const char *name = words[0], *value = words[1];
        if (!value)
            return NULL;
        if (strcmp(name, "--under") == 0 && o->n_under < UNDER_MAX)
            o->under[o->n_under++] = value;
        else if (strcmp(name, "--log") == 0)
            o->log = value;
        else if (strcmp(name, "--tally") == 0)
            o->tally = value;
        else if (strcmp(name, "--kinds") == 0)
            o->kinds = value;
        else if (strcmp(name, "--fail") == 0)
            o->fail_at = atol(value);
        else if (strcmp(name, "--with") == 0)
            o->with = atoi(value);
        else if (strcmp(name, "--for") == 0)
            o->n_fail = atol(value);
        else if (strcmp(name, "--for-ms") == 0)
            o->fail_ms = atol(value);
        else if (strcmp(name, "--while") == 0)
            o->gate = value;
        else if (strcmp(name, "--kill") == 0)
            o->kill_at = atol(value);
        else
            return NULL;
    }
    return *words && words[1] ? words + 1 : NULL;
}

static bool
open_log(struct disc *d)
{
    char name[DISC_PATH_MAX];
    d->data = malloc(DATA_MAX);
    if (!d->data || !d->o.log)
        return d->data != NULL;
    snprintf(name, sizeof name, "%s.data", d->o.log);
    d->log = fopen(d->o.log, "we");
    d->data_file = fopen(name, "we");
    return d->log && d->data_file;
}

static pid_t the_child;

static void
hand_on(int number)
{
    kill(the_child, number);
}

static int
end(struct disc *d)
{
    int status = 0;
    while (waitpid(d->child, &status, 0) < 0 && errno == EINTR)
        ;
    bool is_good = true;
    if (d->log)
        is_good = fclose(d->log) == 0 && fclose(d->data_file) == 0;
    FILE *tally = d->o.tally ? fopen(d->o.tally, "w") : NULL;
    if (tally)
        is_good = fprintf(tally, "%ld %ld\n", d->n_counted, d->n_failed) > 0 && fclose(tally) == 0 && is_good;
    free(d->data);
    if (!is_good)
        return COULD_NOT_WATCH;
    return WIFSIGNALED(status) ? 128 + WTERMSIG(status) : WEXITSTATUS(status);
}

int
main(int argc, char **argv)
{
    struct disc d = { .failing_since_ms = -1, .begun_ms = now_ms() };
    int pair[2];
    char **words = argc > 1 ? read_options(&d.o, argv + 1) : NULL;
    if (!words) {
        fprintf(stderr, "disc: usage stands at the head of tests/reliability/disc.c\n");
        return 2;
    }
    if (!open_log(&d) || socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0) {
        perror("disc");
        return COULD_NOT_WATCH;
    }
    the_child = d.child = fork();
    if (d.child == 0)
        become_program(pair[1], words);
    close(pair[1]);
    const struct sigaction s = { .sa_handler = hand_on };
    sigaction(SIGINT, &s, NULL);
    sigaction(SIGTERM, &s, NULL);
    const int listener = d.child > 0 ? pass_fd(pair[0], -1) : -1;
    if (listener >= 0)
        watch(&d, listener);
    else
        fprintf(stderr, "disc: this kernel lets nobody stand before a program's calls (seccomp user notification)\n");
    return end(&d);
}
