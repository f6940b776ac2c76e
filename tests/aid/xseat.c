#include "aid/xseat.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define TOOL_MS  10000
#define WORD_MAX 23

const char *
xseat_find(const char *name)
{
    static char path[4][64];
    static const char *const folders[] = { "/usr/bin", "/usr/local/bin", "/bin" };
    static int n;
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++) {
        char *to = path[n % 4];
        snprintf(to, sizeof path[0], "%s/%s", folders[i], name);
        if (access(to, X_OK) == 0) {
            n++;
            return to;
        }
    }
    return NULL;
}

bool
xseat_is_possible(void)
{
    return xseat_find("Xvfb") && xseat_find("xdotool");
}

bool
xseat_open(struct xseat *s, const char *folder, int timeout_ms)
{
    char number[32], size[32];
    snprintf(size, sizeof size, "%dx%dx24", XSEAT_WIDTH_PX, XSEAT_HEIGHT_PX);
    const char *const argv[] = { xseat_find("Xvfb"), "-displayfd", "1", "-noreset", "-screen", "0", size, NULL };
    s->folder = folder;
    if (!process_start(&s->screen, folder, "screen", argv) ||
        !process_first_line(s->screen.out_path, number, sizeof number, timeout_ms))
        return false;
    snprintf(s->env, sizeof s->env, "DISPLAY=:%.16s", number);
    return true;
}

void
xseat_close(struct xseat *s)
{
    if (s->screen.pid <= 0)
        return;
    process_signal(&s->screen, SIGTERM);
    process_wait(&s->screen, 3000);
}

static bool
run(const struct xseat *s, struct process *p, const char *tool, const char *words)
{
    const char *argv[WORD_MAX + 2] = { "/usr/bin/env", s->env, xseat_find(tool) };
    char text[400];
    int n = 3;
    if (!argv[2])
        return false;
    snprintf(text, sizeof text, "%s", words);
    char *rest = text, *word;
    while ((word = strtok_r(rest, " ", &rest)) && n < WORD_MAX)
        argv[n++] = word;
    return process_run(p, s->folder, tool, TOOL_MS, argv) == 0;
}

bool
xseat_do(const struct xseat *s, const char *words)
{
    struct process p = { .pid = 0 };
    return run(s, &p, "xdotool", words);
}

bool
xseat_run(const struct xseat *s, const char *tool, const char *a, const char *b, const char *c, const char *d)
{
    struct process p = { .pid = 0 };
    const char *const argv[] = { "/usr/bin/env", s->env, xseat_find(tool), a, b, c, d, NULL };
    return argv[2] && process_run(&p, s->folder, tool, TOOL_MS, argv) == 0;
}

bool
xseat_picture(const struct xseat *s, const char *path)
{
    return xseat_run(s, "import", "-window", "root", path, NULL);
}

char *
xseat_titles(const struct xseat *s, char *out, size_t cap)
{
    struct process p = { .pid = 0 };
    char found[1000], *rest = found, *id;
    size_t len = 0;
    out[0] = '\0';
    if (!run(s, &p, "xdotool", "search --name .*"))
        return out;
    process_read(p.out_path, found, sizeof found);
    while ((id = strtok_r(rest, "\n", &rest))) {
        char words[60], name[200];
        snprintf(words, sizeof words, "getwindowname %.30s", id);
        if (!run(s, &p, "xdotool", words))
            continue;
        process_read(p.out_path, name, sizeof name);
        name[strcspn(name, "\n")] = '\0';
        const int n = name[0] ? snprintf(out + len, cap - len, "%s\"%s\"", len ? ", " : "", name) : 0;
        len = n > 0 && (size_t) n < cap - len ? len + (size_t) n : len;
    }
    return out;
}
