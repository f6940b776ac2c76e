/* wire_text.c - lines of a board, as they come: the first byte says what a line means before any hello. */
#include "feed.h"

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const enum packet_kind kinds[] = { PACKET_KIND_UNKNOWN, PACKET_KIND_MAT, PACKET_KIND_CELLS, PACKET_KIND_SWITCHES };
    if (size == 0)
        return 0;
    feed_both_ways(data + 1, size - 1, kinds[data[0] % 4]);
    feed_pipeline(data + 1, size - 1, NULL);
    return 0;
}
