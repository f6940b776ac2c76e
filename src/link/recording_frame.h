/* recording_frame.h - the frames of a recording, and the items inside, as bytes. Inside of link.
 *
 *      0   mark       C5 75 66 32
 *      4   kind u8    0 items, 1 copy of the head, 2 end, 3 end that came early (holds why); then three zeros
 *      8   index u32  0, 1, 2 ... in the file: tells how many are lost between two that are whole
 *     12   stamp u32  CRC-32 of the head: whose frame it is
 *     16   packed u32 length of the zstd frame that follows
 *     20   plain u32  length of what is in it
 *     24   offset u64 bytes of the sensor before the frame: tells how many are lost
 *     32   time i64   arrival of its first item, us
 *     40   CRC-32 of the packed bytes
 *     44   CRC-32 of the 44 bytes before
 *     48   packed bytes: one zstd frame with its own checksum
 *
 * All little-endian. An item: kind u8, us since the item before (zigzag), length, both in sevens of bits with the low
 * first, and its bytes. Only RECORDING_BYTES move the offset.
 */
#ifndef LINK_RECORDING_FRAME_H
#define LINK_RECORDING_FRAME_H

#include "link/recording.h"

#define RECORDING_FRAME_MARK      "\xC5uf2"
#define RECORDING_FRAME_MARK_LEN  4
#define RECORDING_FRAME_HEAD_LEN  48
#define RECORDING_FRAME_PLAIN_MAX 262144 /* bytes in a frame: a second of the fastest sensor has fewer */
#define RECORDING_FRAME_PACKED_MAX (RECORDING_FRAME_PLAIN_MAX + 4096) /* what can't be packed grows a little */
#define RECORDING_ITEM_HEAD_MAX 16 /* kind, ten sevens of time, five of length */

enum recording_frame_kind {
    RECORDING_FRAME_ITEMS,
    RECORDING_FRAME_HEAD,
    RECORDING_FRAME_END,
    RECORDING_FRAME_END_EARLY,
};

struct recording_frame {
    enum recording_frame_kind kind;
    uint32_t index, stamp, packed_len, plain_len, packed_crc;
    uint64_t offset;
    struct host_time time;
};

void recording_frame_write(const struct recording_frame *h, uint8_t out[RECORDING_FRAME_HEAD_LEN]);
/* False when these bytes are no frame's head, or a damaged one. */
bool recording_frame_read(const uint8_t in[RECORDING_FRAME_HEAD_LEN], struct recording_frame *out);

/* Writes an item's head; returns its length. */
size_t recording_item_write(uint8_t out[RECORDING_ITEM_HEAD_MAX], enum recording_kind kind, int64_t since_us, size_t len);
/* Reads one item's head from in[len]: its length, or 0 when it is none, or its payload goes beyond len. */
size_t recording_item_read(const uint8_t *in, size_t len, enum recording_kind *kind, int64_t *since_us, size_t *payload_len);

/* CRC-32/ISO-HDLC: reflected 0xEDB88320, start and final xor 0xFFFFFFFF; 0xCBF43926 over "123456789" (catalogue of
 * parametrised CRC algorithms, reveng.sourceforge.io/crc-catalogue/17plus.htm). */
uint32_t recording_crc32(const void *bytes, size_t len);

/* Reads up to len bytes at that place in the file; how many there were. */
size_t recording_read_at(int fd, int64_t at, void *out, size_t len);

#endif
