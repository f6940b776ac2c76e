#include "aid/process.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define MAX_WORDS 32
#define LINE_CAP 1024
#define LOOK_MS 5

static void
nap(void)
{
    const struct timespec t = { 0, LOOK_MS * 1000000L };
    nanosleep(&t, NULL);
}

const char *
process_program(void)
{
    const char *path = getenv("UNDERFOOT_BIN");
    return path && path[0] ? path : "build/underfoot";
}

static void
become(const struct process *p, const char *folder, const char *const *argv)
{
    char data[PROCESS_PATH_MAX + 8];
    sigset_t none;
    sigemptyset(&none);
    sigprocmask(SIG_SETMASK, &none, NULL);
    snprintf(data, sizeof data, "%s/data", folder);
    setenv("UNDERFOOT_DATA", data, 1);
    setenv("UNDERFOOT_ASSETS", "build/assets", 0);
    /* The language is English, whatever this computer's is; $UNDERFOOT_TEST_LANG says otherwise. */
    const char *language = getenv("UNDERFOOT_TEST_LANG");
    setenv("LC_ALL", language ? language : "C", 1);
    unsetenv("LANGUAGE");
    setenv("TMPDIR", folder, 1);
    snprintf(data, sizeof data, "%s/state", folder); /* fresh places of visits that their store can't take */
    setenv("XDG_STATE_HOME", data, 1);
    unsetenv("DISPLAY");
    unsetenv("WAYLAND_DISPLAY");
    unsetenv("SDL_VIDEODRIVER");
    const int in = open("/dev/null", O_RDONLY);
    const int out = open(p->out_path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    const int err = open(p->err_path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (in < 0 || out < 0 || err < 0 || dup2(in, 0) < 0 || dup2(out, 1) < 0 || dup2(err, 2) < 0)
        _exit(126);
    execv(argv[0], (char *const *) (size_t) argv);
    _exit(127);
}

bool
process_start(struct process *p, const char *folder, const char *name, const char *const *argv)
{
    snprintf(p->out_path, sizeof p->out_path, "%s/%s.out", folder, name);
    snprintf(p->err_path, sizeof p->err_path, "%s/%s.err", folder, name);
    unlink(p->out_path); /* or what an earlier one of that name wrote is read before the new one gets there */
    unlink(p->err_path);
    fflush(NULL);
    p->pid = fork();
    if (p->pid == 0)
        become(p, folder, argv);
    return p->pid > 0;
}

void
process_signal(const struct process *p, int number)
{
    if (p->pid > 0)
        kill(p->pid, number);
}

int
process_wait(struct process *p, int timeout_ms)
{
    int status = 0;
    bool is_hung = false;
    if (p->pid <= 0)
        return PROCESS_HUNG;
    for (int waited_ms = 0; waitpid(p->pid, &status, WNOHANG) == 0; waited_ms += LOOK_MS) {
        if (waited_ms >= timeout_ms) {
            is_hung = true;
            kill(p->pid, SIGKILL);
            waitpid(p->pid, &status, 0);
            break;
        }
        nap();
    }
    p->pid = 0;
    if (is_hung)
        return PROCESS_HUNG;
    return WIFEXITED(status) ? WEXITSTATUS(status) : PROCESS_SIGNAL + WTERMSIG(status);
}

int
process_run(struct process *p, const char *folder, const char *name, int timeout_ms, const char *const *argv)
{
    return process_start(p, folder, name, argv) ? process_wait(p, timeout_ms) : PROCESS_HUNG;
}

int
process_run_words(struct process *p, const char *folder, int timeout_ms, const char *words)
{
    char line[LINE_CAP] = "", *rest = line, *word;
    const char *argv[MAX_WORDS] = { process_program() };
    int n = 1;
    for (size_t len = 0; *words; len = strlen(line)) {
        const bool is_folder = words[0] == '%' && words[1] == 's';
        if (len + strlen(folder) + 1 >= sizeof line)
            return PROCESS_HUNG;
        if (is_folder)
            strcat(line, folder);
        else
            strncat(line, words, 1);
        words += is_folder ? 2 : 1;
    }
    while (n < MAX_WORDS - 1 && (word = strtok_r(rest, " ", &rest)))
        argv[n++] = word;
    return process_run(p, folder, "run", timeout_ms, argv);
}

char *
process_read(const char *path, char *out, size_t cap)
{
    FILE *f = fopen(path, "r");
    const size_t n = f ? fread(out, 1, cap - 1, f) : 0;
    out[n] = '\0';
    if (f)
        fclose(f);
    return out;
}

bool
process_first_line(const char *path, char *out, size_t cap, int timeout_ms)
{
    for (int waited_ms = 0; waited_ms <= timeout_ms; waited_ms += LOOK_MS) {
        char *end = strchr(process_read(path, out, cap), '\n');
        if (end) {
            *end = '\0';
            return true;
        }
        nap();
    }
    return false;
}

int
process_count_lines(const char *text)
{
    int n = 0;
    for (; *text; text++)
        n += *text == '\n';
    return n;
}
