/* cells_recording.h - some seconds of simulated load cells as a recording, without any process. Links: PROGRAM. */
#ifndef AID_CELLS_RECORDING_H
#define AID_CELLS_RECORDING_H

#include "base/message.h"
#include "cli/mimic.h"
#include "link/recording_writer.h"

#include <criterion/criterion.h>
#include <stdlib.h>

static inline void
cells_recording_make(const char *path, double seconds)
{
    struct mimic *m = calloc(1, sizeof *m);
    struct recording_writer *w = calloc(1, sizeof *w);
    struct mimic_config c = mimic_config_default();
    const struct recording_disc disc = recording_disc_default();
    const struct recording_head head = { .n_notes = 0 };
    double flushed_s = 0;
    cr_assert(m && w);
    c.board = board_config_default(FRAME_KIND_CELLS);
    c.seconds = seconds;
    mimic_init(m, &c);
    cr_assert_eq(recording_writer_open(w, path, &head, &disc), ERR_OK, "%s", message_english(&w->why));
    const uint8_t *bytes;
    for (int n; (n = mimic_step(m, &bytes)) >= 0;) {
        if (n > 0)
            recording_writer_put(w, RECORDING_BYTES, bytes, (size_t) n, (struct host_time){ units_us_from_s(m->board.t_s) });
        if (m->board.t_s >= flushed_s + 1.0) { /* a frame a second, as the recorder has it */
            flushed_s = m->board.t_s;
            recording_writer_flush(w);
        }
    }
    cr_assert_eq(recording_writer_close(w, NULL), ERR_OK);
    free(m);
    free(w);
}

#endif
