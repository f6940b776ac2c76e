#include "wire/crc16.h"

uint16_t
crc16_add(uint16_t crc, uint8_t byte)
{
    /* The eight bit steps of polynomial 0x1021 folded into shifts: same sum, no table, no loop. */
    unsigned x = ((unsigned) crc >> 8) ^ byte;
    x ^= x >> 4;
    return (uint16_t) (((unsigned) crc << 8) ^ (x << 12) ^ (x << 5) ^ x);
}

uint16_t
crc16(const void *bytes, size_t len)
{
    const uint8_t *b = bytes;
    uint16_t crc = CRC16_START;
    for (size_t i = 0; i < len; i++)
        crc = crc16_add(crc, b[i]);
    return crc;
}
