/* recording_v1.h - the chunks of a recording of version 1, which is read and no longer written. Inside of link.
 *
 *      chunk: 0xC5, 0x00, len u16, t_us i64, len bytes, CRC-16 of all before it u16; little-endian
 *
 * t_us counts on the host's clock; the first chunk is at 1. Reading passes over a damaged chunk to the next mark whose
 * head and CRC check out and whose time goes on. Version 1 has no end mark: one cut between two chunks looks whole.
 * Memory: the struct.  Threads: one at a time.  Errors: counted in the recording's loss.
 */
#ifndef LINK_RECORDING_V1_H
#define LINK_RECORDING_V1_H

#include "link/recording.h"

#define RECORDING_V1_CHUNK_HEAD 12
#define RECORDING_V1_CHUNK_MAX  8192
#define RECORDING_V1_HEAD_MAX   4096 /* bytes of text before the chunks */

struct recording_v1 {
    int fd;     /* borrowed */
    int64_t at; /* byte in the file where the next chunk begins */
    uint8_t chunk[RECORDING_V1_CHUNK_MAX];
    size_t chunk_len;
    struct host_time time, found_time; /* of the chunk given out; of what was looked at last */
    bool has_gap;                      /* the chunk follows a damaged place */
};

/* Fetches the next whole chunk; false at the end. */
bool recording_v1_next(struct recording_v1 *v, struct recording_loss *loss);

#endif
