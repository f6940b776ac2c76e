/* cells_recording.h - some seconds of simulated load cells as a recording, without any process. Links: PROGRAM. */
#ifndef AID_CELLS_RECORDING_H
#define AID_CELLS_RECORDING_H

#include "cli/mimic.h"
#include "link/capture.h"

#include <criterion/criterion.h>
#include <stdlib.h>

static inline void
cells_recording_make(const char *path, double seconds)
{
    struct mimic *m = calloc(1, sizeof *m);
    struct capture *capture = calloc(1, sizeof *capture);
    struct mimic_config c = mimic_config_default();
    cr_assert(m && capture);
    c.board = board_config_default(FRAME_KIND_CELLS);
    c.seconds = seconds;
    mimic_init(m, &c);
    cr_assert_eq(capture_open(capture, path, NULL, 0), ERR_OK, "%s", capture->why);
    const uint8_t *bytes;
    for (int n; (n = mimic_step(m, &bytes)) >= 0;)
        if (n > 0)
            capture_write(capture, bytes, (size_t) n, (struct host_time){ units_us_from_s(m->board.t_s) });
    cr_assert_eq(capture_close(capture), ERR_OK);
    free(m);
    free(capture);
}

#endif
