/* crc16.h - CRC-16/CCITT-FALSE, the checksum of the wire format and of recordings.
 *
 * Polynomial 0x1021, start 0xFFFF, no reflection, no final xor. Check value: 0x29B1 over "123456789"
 * (catalogue of parametrised CRC algorithms, reveng.sourceforge.io/crc-catalogue/16.htm).
 * Bitwise without a table, so that it costs a small board no memory; a bytewise form of the same sum.
 */
#ifndef WIRE_CRC16_H
#define WIRE_CRC16_H

#include <stddef.h>
#include <stdint.h>

#define CRC16_START UINT16_C(0xFFFF)

/* Adds one byte to a running sum that began with CRC16_START. */
uint16_t crc16_add(uint16_t crc, uint8_t byte);

/* The sum over len bytes, from CRC16_START. bytes may be NULL when len is 0. */
uint16_t crc16(const void *bytes, size_t len);

#endif
