/* cmd_ports.c - `underfoot ports`: the serial ports of this computer and what said hello, one a line.
 *
 * Columns on stdout, tab between: path, what it is, the system's description. A port without a hello has
 * a dash and the reason. Exit code 0 when at least one said hello, 1 when none did.
 */
#include "base/str.h"
#include "base/utf8.h"
#include "cli/commands.h"
#include "cli/say_options.h"
#include "link/source.h"
#include "wire/wire.h"

#include <stdio.h>
#include <stdlib.h>

/* What a hello says, in a few words. */
static const char *
hello_text(const struct packet_hello *h, char out[SAY_MAX])
{
    char zones[PACKET_MAX_ZONES * (PACKET_ZONE_NAME_MAX + 1)] = "";
    switch (h->kind) {
    case PACKET_KIND_MAT:
        return say_text(out, MESSAGE_PORTS_MAT, h->n_rows, h->n_cols,
                        message_real(h->rate_hz, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_HZ));
    case PACKET_KIND_CELLS:
        return say_text(out, MESSAGE_PORTS_CELLS, h->n_channels,
                        message_real(h->rate_hz, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_HZ));
    case PACKET_KIND_SWITCHES:
        for (int i = 0; i < h->n_channels; i++) {
            str_append(zones, sizeof zones, i == 0 ? "" : ",");
            str_append(zones, sizeof zones, h->zone_name[i]);
        }
        return say_text(out, MESSAGE_PORTS_SWITCHES, zones,
                        message_real(h->rate_hz, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_HZ));
    case PACKET_KIND_UNKNOWN:
        break;
    }
    return say_text(out, MESSAGE_PORTS_UNKNOWN);
}

static int
list(const struct source_config *c)
{
    char text[SAY_MAX];
    int n_hellos = 0;
    struct source_found *found = calloc(SOURCE_FOUND_MAX, sizeof *found);
    if (found == NULL) {
        say_as("ports", MESSAGE_CLI_NO_MEMORY);
        return 1;
    }
    int n = source_probe(found, SOURCE_FOUND_MAX, c);
    for (int i = 0; i < n; i++) {
        utf8_print(stdout, "%s\t%s\t%s\n", found[i].path,
                   found[i].has_hello ? hello_text(&found[i].hello, text)
                                      : say_text(text, MESSAGE_PORTS_NO_HELLO, message_of(&found[i].why)),
                   found[i].description);
        n_hellos += found[i].has_hello;
    }
    free(found);
    if (n == 0)
        say_as("ports", MESSAGE_PORTS_NONE);
    else if (n_hellos == 0)
        say_as("ports", MESSAGE_PORTS_ALL_SILENT, n);
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
          .help = N_("line speed, default 115200"),
          .number = &baud,
          .min = 1200,
          .max = 4000000 },
        { .name = "wait",
          .type = OPTION_NUMBER,
          .argument = "S",
          .help = N_("seconds to wait for hellos, default 3"),
          .number = &wait_s,
          .min = 0.1,
          .max = 60 },
    };
    const struct options_spec spec = {
        .command = "ports",
        .summary = N_("Lists the serial ports of this computer, and what said hello on them, one a line."),
        .rows = rows,
        .n_rows = (int) (sizeof rows / sizeof rows[0]),
    };
    int n = say_options(&spec, argc, argv, NULL, 0);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    c.baud = (int) baud;
    c.hello_wait_ms = (int) (wait_s * 1000);
    return list(&c);
}
