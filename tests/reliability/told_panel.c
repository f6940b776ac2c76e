/* told_panel.c - the program itself, but for one thing: its panel tells what stands on it, and can be held at a picture.
 *
 * In:  the program's own words; UNDERFOOT_TOLD=FILE, of struct told's size, which whoever asks maps too.
 * Out: each picture of the panel that says anything else than the one before: its texts in the order in which they are drawn, a
 *      line each. While is_armed is set the whole program stops itself there (SIGSTOP), before that picture is seen: what is
 *      on disc then is what a kill in that moment would leave. SIGCONT lets it go on.
 *
 * How: linked from the program's own objects; text_draw() and panel_draw() are the linker's (--wrap in the Makefile).
 * Threads: the drawing one. Of the texts on other canvases (the runner's screen) nothing is told: they are drawn outside
 * panel_draw().
 */
#include "pages/panel_draw.h"
#include "ui/text.h"

#include <fcntl.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#define TEXT_MAX (60 * 1024)

struct told {
    volatile int32_t is_armed, n_pictures, len;
    char text[TEXT_MAX];
};

static struct told *told;
static char drawn[TEXT_MAX];
static size_t n_drawn;
static bool is_inside;

int __real_text_draw(struct text *t, struct paint_picture *p, int x_px, int baseline_px, enum text_align align, int size_px,
                     enum text_weight w, uint32_t rgb, double alpha, const char *utf8);
int __wrap_text_draw(struct text *t, struct paint_picture *p, int x_px, int baseline_px, enum text_align align, int size_px,
                     enum text_weight w, uint32_t rgb, double alpha, const char *utf8);
bool __real_panel_draw(struct panel_draw *d, struct panel *p);
bool __wrap_panel_draw(struct panel_draw *d, struct panel *p);

int
__wrap_text_draw(struct text *t, struct paint_picture *p, int x_px, int baseline_px, enum text_align align, int size_px,
                 enum text_weight w, uint32_t rgb, double alpha, const char *utf8)
{
    const size_t len = strlen(utf8);
    if (is_inside && n_drawn + len + 1 < TEXT_MAX) {
        memcpy(drawn + n_drawn, utf8, len);
        n_drawn += len;
        drawn[n_drawn++] = '\n';
    }
    return __real_text_draw(t, p, x_px, baseline_px, align, size_px, w, rgb, alpha, utf8);
}

static void
open_told(void)
{
    const char *path = getenv("UNDERFOOT_TOLD");
    const int fd = path ? open(path, O_RDWR | O_CLOEXEC) : -1;
    void *at = fd < 0 ? MAP_FAILED : mmap(NULL, sizeof *told, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
    if (at == MAP_FAILED)
        abort(); /* nobody who runs this one wants it silent */
    told = at;
    close(fd);
}

bool
__wrap_panel_draw(struct panel_draw *d, struct panel *p)
{
    if (!told)
        open_told();
    is_inside = true;
    n_drawn = 0;
    const bool is_changed = __real_panel_draw(d, p);
    is_inside = false;
    if (!is_changed || ((size_t) told->len == n_drawn && memcmp(told->text, drawn, n_drawn) == 0))
        return is_changed;
    memcpy(told->text, drawn, n_drawn);
    told->len = (int32_t) n_drawn;
    told->n_pictures++;
    if (told->is_armed)
        raise(SIGSTOP);
    return is_changed;
}
