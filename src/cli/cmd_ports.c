/* cmd_ports.c - `underfoot ports`: the serial ports of this computer and what said hello, one a line.
 *
 * Columns on stdout, tab between: path, what it is, the system's description. A port without a hello has
 * a dash and the reason. Exit code 0 when at least one said hello, 1 when none did.
 */
#include "base/options.h"
#include "base/utf8.h"
#include "cli/commands.h"
#include "link/source.h"
#include "wire/wire.h"

#include <stdio.h>
#include <stdlib.h>

/* What a hello says, in a few words. */
static void
print_hello(const struct packet_hello *h)
{
    switch (h->kind) {
    case PACKET_KIND_MAT:
        utf8_print(stdout, "mat %d x %d, %g Hz", h->n_rows, h->n_cols, h->rate_hz);
        return;
    case PACKET_KIND_CELLS:
        utf8_print(stdout, "%d load cells, %g Hz", h->n_channels, h->rate_hz);
        return;
    case PACKET_KIND_SWITCHES:
        utf8_print(stdout, "foot switches");
        for (int i = 0; i < h->n_channels; i++)
            utf8_print(stdout, "%s%s", i == 0 ? " " : ",", h->zone_name[i]);
        utf8_print(stdout, ", %g Hz", h->rate_hz);
        return;
    case PACKET_KIND_UNKNOWN:
        break;
    }
    utf8_print(stdout, "a sensor of an unknown kind");
}

static int
list(const struct source_config *c)
{
    int n_hellos = 0;
    struct source_found *found = calloc(SOURCE_FOUND_MAX, sizeof *found);
    if (found == NULL) {
        utf8_print(stderr, "underfoot ports: no memory\n");
        return 1;
    }
    int n = source_probe(found, SOURCE_FOUND_MAX, c);
    for (int i = 0; i < n; i++) {
        utf8_print(stdout, "%s\t", found[i].path);
        if (found[i].has_hello)
            print_hello(&found[i].hello);
        else
            utf8_print(stdout, "- %s", message_english(&found[i].why));
        utf8_print(stdout, "\t%s\n", found[i].description);
        n_hellos += found[i].has_hello;
    }
    free(found);
    if (n == 0)
        utf8_print(stderr, "underfoot ports: no serial port on this computer: plug the sensor in\n");
    else if (n_hellos == 0)
        utf8_print(stderr, "underfoot ports: %d serial port%s, none of which said hello\n", n,
                n == 1 ? "" : "s");
    return n_hellos > 0 ? 0 : 1;
}

int
cmd_ports(int argc, char **argv)
{
    struct source_config c = source_config_default();
    double baud = c.baud, wait_s = c.hello_wait_ms / 1000.0;
    const struct option_row rows[] = {
        { .name = "baud",
          .type = OPTION_NUMBER,
          .argument = "N",
          .help = "line speed, default 115200",
          .number = &baud,
          .min = 1200,
          .max = 4000000 },
        { .name = "wait",
          .type = OPTION_NUMBER,
          .argument = "S",
          .help = "seconds to wait for hellos, default 3",
          .number = &wait_s,
          .min = 0.1,
          .max = 60 },
    };
    const struct options_spec spec = {
        .command = "ports",
        .summary = "Lists the serial ports of this computer, and what said hello on them, one a line.",
        .rows = rows,
        .n_rows = (int) (sizeof rows / sizeof rows[0]),
    };
    int n = options_parse(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    c.baud = (int) baud;
    c.hello_wait_ms = (int) (wait_s * 1000);
    return list(&c);
}
