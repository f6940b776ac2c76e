/* crc16 against the published values of the algorithm CRC-16/CCITT-FALSE. */
#include "wire/crc16.h"

#include <criterion/criterion.h>
#include <string.h>

/* The check value of the catalogue (reveng.sourceforge.io/crc-catalogue/16.htm, CRC-16/IBM-3740): 0x29B1.
 * The other rows by a separate bitwise program. */
Test(crc16, published_check_values_come_out)
{
    static const struct {
        const char *bytes;
        size_t len;
        uint16_t crc;
    } rows[] = {
        { "123456789", 9, 0x29B1 },
        { "", 0, 0xFFFF },
        { "\0", 1, 0xE1F0 },
        { "A", 1, 0xB915 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_expect_eq(crc16(rows[i].bytes, rows[i].len), rows[i].crc, "row %zu", i);
}

/* The catalogue's residue: a message followed by its own sum, high byte first, sums to 0. */
Test(crc16, message_with_its_own_sum_leaves_nothing)
{
    uint8_t bytes[11];
    memcpy(bytes, "123456789", 9);
    bytes[9] = 0x29;
    bytes[10] = 0xB1;
    cr_expect_eq(crc16(bytes, sizeof bytes), 0);
}

/* The definition, bit by bit: polynomial 0x1021, high bit first. */
static uint16_t
by_definition(const uint8_t *bytes, size_t len)
{
    unsigned crc = 0xFFFF;
    for (size_t i = 0; i < len; i++) {
        crc ^= (unsigned) bytes[i] << 8;
        for (int bit = 0; bit < 8; bit++)
            crc = (crc & 0x8000) != 0 ? (crc << 1 ^ 0x1021) & 0xFFFF : crc << 1 & 0xFFFF;
    }
    return (uint16_t) crc;
}

Test(crc16, every_byte_after_every_byte_is_as_defined)
{
    for (unsigned v = 0; v < 65536; v++) {
        uint8_t bytes[2] = { (uint8_t) (v >> 8), (uint8_t) (v & 0xFF) };
        cr_assert_eq(crc16(bytes, 2), by_definition(bytes, 2), "bytes %04x", v);
    }
}
