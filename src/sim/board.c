#include "sim/board.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static int
mat_full_counts(const struct board_config *c)
{
    return c->form.bits == 8 ? 255 : 4095;
}

double
board_mat_gain_n(const struct board_config *c)
{
    double area_mm2 = c->layout.pitch_fwd_mm * c->layout.pitch_right_mm;
    return BOARD_MAT_FULL_KPA * 1e-3 * area_mm2 / mat_full_counts(c);
}

double
board_cell_gain_n(void)
{
    return BOARD_CELL_FULL_N / BOARD_CELL_FULL;
}

struct board_config
board_config_default(enum frame_kind kind)
{
    struct board_config c = { .layout = sensor_layout_default(kind),
                              .form = wire_form_default(),
                              .hello_every_s = 5,
                              .faults = faults_config_default() };
    switch (kind) {
    case FRAME_KIND_MAT:
        c.rate_hz = 250;
        c.form.is_sparse = true;
        c.form.noise_counts = 8;
        c.faults.noise_counts = 2;
        c.faults.vibration_n = 6;
        c.faults.seam_bump_n = 12;
        break;
    case FRAME_KIND_SWITCHES:
        c.rate_hz = 500;
        c.form.bits = 16;
        c.faults.noise_counts = 1.5;
        break;
    case FRAME_KIND_CELLS:
    case FRAME_KIND_FORCE:
        c.layout.kind = FRAME_KIND_CELLS;
        c.rate_hz = 1000;
        c.faults.noise_counts = 1.0 / board_cell_gain_n();
        c.faults.vibration_n = 6;
        c.faults.seam_bump_n = 12;
        break;
    }
    return c;
}

static void
make_hello(struct board *b)
{
    static const char zone_letter[] = {
        [FRAME_ZONE_HEEL] = 'H', [FRAME_ZONE_FORE] = 'F', [FRAME_ZONE_MID] = 'M', [FRAME_ZONE_TOE] = 'T'
    };
    const struct sensor_layout *l = &b->config.layout;
    struct packet_hello *h = &b->packet.hello;
    h->version_major = WIRE_VERSION_MAJOR;
    h->version_minor = WIRE_VERSION_MINOR;
    h->rate_hz = b->config.rate_hz;
    if (l->kind == FRAME_KIND_MAT) {
        h->kind = PACKET_KIND_MAT;
        h->n_rows = l->n_rows;
        h->n_cols = l->n_cols;
        h->pitch_fwd_mm = l->pitch_fwd_mm;
        h->pitch_right_mm = l->pitch_right_mm;
        h->full_scale_counts = mat_full_counts(&b->config);
    } else if (l->kind == FRAME_KIND_SWITCHES) {
        h->kind = PACKET_KIND_SWITCHES;
        h->n_channels = l->n_zones;
        h->is_binary_switches = b->config.is_binary_switches;
        h->full_scale_counts = h->is_binary_switches ? 1 : BOARD_SWITCH_FULL;
        for (int z = 0; z < l->n_zones; z++) {
            h->zone_name[z][0] = l->is_right[z] ? 'R' : 'L';
            h->zone_name[z][1] = zone_letter[l->zone[z]];
            h->zone_name[z][2] = 0;
        }
    } else {
        h->kind = PACKET_KIND_CELLS;
        h->n_channels = l->n_cells;
        h->full_scale_counts = BOARD_CELL_FULL;
    }
}

void
board_init(struct board *b, const struct board_config *c, struct runner *runner)
{
    assert(c->rate_hz > 0 && c->layout.n_zones <= FAULTS_MAX_ZONES && c->layout.n_cells <= PACKET_MAX_CELLS);
    memset(b, 0, sizeof *b);
    b->config = *c;
    b->runner = runner;
    if (b->config.faults.saturation_counts == 0)
        b->config.faults.saturation_counts = c->layout.kind == FRAME_KIND_MAT        ? mat_full_counts(c)
                                             : c->layout.kind == FRAME_KIND_SWITCHES ? BOARD_SWITCH_FULL
                                                                                     : BOARD_CELL_FULL;
    if (b->config.layout.kind == FRAME_KIND_SWITCHES && c->is_binary_switches)
        b->config.form.bits = 1;
    faults_init(&b->faults, &b->config.faults);
    wire_device_init(&b->device, &b->config.form,
                     isfinite(c->hello_every_s) ? (uint32_t) units_us_from_s(c->hello_every_s) : 0);
    make_hello(b);
}

void
board_hear(struct board *b, const uint8_t *bytes, size_t len)
{
    for (size_t i = 0; i < len; i++)
        wire_device_hear(&b->device, bytes[i]);
}

static void
read_sensor(struct board *b, struct packet *p)
{
    const struct sensor_layout *l = &b->config.layout;
    if (l->kind == FRAME_KIND_MAT) {
        double gain_n = board_mat_gain_n(&b->config), deck_n[PACKET_MAX_ROWS];
        p->type = PACKET_MAT;
        p->n_rows = l->n_rows;
        p->n_cols = l->n_cols;
        p->n_values = l->n_rows * l->n_cols;
        faults_mat_rows(&b->faults, b->t_s, b->now.belt_travel_mm, &b->image, deck_n);
        for (int i = 0; i < p->n_values; i++) {
            double load_n = (double) b->image.load_n[i] + deck_n[i / l->n_cols];
            int32_t counts = faults_count(&b->faults, i, load_n / gain_n, b->t_s);
            p->mat_counts[i] = (uint16_t) (counts < 0 ? 0 : counts);
        }
    } else if (l->kind == FRAME_KIND_SWITCHES) {
        p->type = PACKET_SWITCHES;
        p->n_values = l->n_zones;
        for (int z = 0; z < l->n_zones; z++) {
            bool is_down = faults_switch(&b->faults, z, b->switches.is_down[z], b->t_s);
            int32_t counts = faults_count(&b->faults, z, b->switches.load[z] * BOARD_SWITCH_FULL, b->t_s);
            p->channel_counts[z] = b->config.is_binary_switches ? is_down : counts < 0 ? 0 : counts;
        }
    } else {
        double load_n[SENSOR_MAX_CELLS], deck_n = faults_deck_n(&b->faults, b->t_s, b->now.belt_travel_mm);
        double force_n = b->now.force_n;
        p->type = PACKET_CELLS;
        p->n_values = l->n_cells;
        sensor_cell_loads(l, force_n, force_n > 0 ? b->now.cop_fwd_mm : 0,
                          force_n > 0 ? b->now.cop_right_mm : 0, load_n);
        for (int c = 0; c < l->n_cells; c++)
            p->channel_counts[c] =
                faults_count(&b->faults, c, (load_n[c] + deck_n / l->n_cells) / board_cell_gain_n(), b->t_s);
    }
}

/* The wire's turn asks for a sample; a board that was told to stop has none to give. */
static bool
scan(void *context, struct packet *p, uint32_t now_us)
{
    struct board *b = context;
    p->t_us = now_us;
    if (!b->device.is_started)
        return false;
    read_sensor(b, p);
    return true;
}

/* The cable delivers a packet once, not at all, or twice. */
static bool
send(void *context, const uint8_t *bytes, size_t len)
{
    struct board *b = context;
    const int times = faults_arrivals(&b->faults);
    b->n_packets++;
    for (int i = 0; i < times; i++) {
        assert(b->n_bytes + len <= sizeof b->bytes);
        memcpy(b->bytes + b->n_bytes, bytes, len);
        faults_damage(&b->faults, b->bytes + b->n_bytes, len);
        b->n_bytes += len;
        b->n_sent++;
    }
    return true;
}

size_t
board_step(struct board *b, const uint8_t **bytes)
{
    const struct wire_board board = { scan, send, b };
    b->t_s = (double) b->n_samples++ / b->config.rate_hz;
    runner_now(b->runner, b->t_s, &b->now);
    sensor_frame(&b->config.layout, &b->now, 0, &b->image, &b->switches, &b->ideal);
    *bytes = b->bytes;
    b->n_bytes = 0;
    if (faults_is_resetting(&b->faults, b->t_s)) {
        b->was_resetting = true;
        return 0;
    }
    if (b->was_resetting) {
        b->was_resetting = false;
        wire_device_restart(&b->device);
    }
    wire_device_turn(&b->device, &board, &b->packet, faults_clock_us(&b->faults, b->t_s), false, b->out, sizeof b->out);
    return b->n_bytes;
}
