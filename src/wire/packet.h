/* packet.h - contract of link: one checked packet, its payload decoded, nothing interpreted.
 *
 * Positions, gains and feet are unknown here. The struct is large (a mat image): keep one per decoder
 * and pass it by pointer; a packet that is passed on is borrowed for the call.
 */
#ifndef WIRE_PACKET_H
#define WIRE_PACKET_H

#include "base/units.h"

#define PACKET_MAX_ROWS 128
#define PACKET_MAX_COLS 128
#ifndef PACKET_MAX_ELEMENTS /* a small board's build holds no more than its own mat */
#define PACKET_MAX_ELEMENTS (128 * 64) /* rows * cols may not be more */
#endif
#define PACKET_MAX_CELLS 8
#define PACKET_MAX_ZONES 8
#define PACKET_ZONE_NAME_MAX 4

enum packet_type {
    PACKET_HELLO = 1,
    PACKET_MAT,      /* dense or sparse on the wire, the same here */
    PACKET_CELLS,
    PACKET_SWITCHES,
    PACKET_STATUS,
};

enum packet_kind {
    PACKET_KIND_UNKNOWN = 0,
    PACKET_KIND_MAT,
    PACKET_KIND_CELLS,
    PACKET_KIND_SWITCHES,
};

/* What a board says of itself. */
struct packet_hello {
    enum packet_kind kind;
    int version_major, version_minor;
    double rate_hz;
    int n_rows, n_cols;      /* mat; rows run along the belt (row 0 rearmost), columns left to right */
    double pitch_fwd_mm, pitch_right_mm; /* mat; 0 when the board does not know */
    int full_scale_counts;   /* largest count an element can send: at or above it, saturated */
    int n_channels;          /* cells or zones */
    char zone_name[PACKET_MAX_ZONES][PACKET_ZONE_NAME_MAX]; /* switches: LH, LF, RH, RF, ... */
    bool is_binary_switches; /* switches: 0/1 states rather than analog loads */
};

struct packet {
    enum packet_type type;
    uint8_t sequence;        /* valid when has_sequence; text lines have none */
    bool has_sequence;
    uint32_t t_us;           /* device clock as sent; wraps after 71.6 min */
    uint32_t n_lost_before;  /* packets that the sequence says are missing just before this one */
    struct host_time arrived;/* when the packet's last byte was read */
    struct packet_hello hello;                  /* valid when type == PACKET_HELLO */
    int n_values;                               /* cells, zones, or rows * cols */
    int32_t channel_counts[PACKET_MAX_CELLS];   /* valid for PACKET_CELLS and PACKET_SWITCHES */
    int n_rows, n_cols;                         /* valid for PACKET_MAT */
    uint16_t mat_counts[PACKET_MAX_ELEMENTS];   /* row-major; valid for PACKET_MAT */
    uint32_t status_code;                       /* valid for PACKET_STATUS */
};

#endif
