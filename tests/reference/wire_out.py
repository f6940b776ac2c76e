"""wire_out.py - an encoder of the wire format, written from hardware/WIRE.md alone, and of recording files.

Shares nothing with src/link, so that the two check each other. Packets are bytes; recording() wraps them
with arrival times as `underfoot live --record` would (format, version 1: head of src/link/recording_v1.h).
"""
import binascii
import struct

HELLO, MAT_DENSE, MAT_SPARSE, CELLS = 0x01, 0x02, 0x03, 0x04
KIND_MAT, KIND_CELLS = 1, 2


def crc16(data):
    """CRC-16/CCITT-FALSE."""
    return binascii.crc_hqx(data, 0xFFFF)


def cobs(data):
    """Consistent overhead byte stuffing (Cheshire and Baker 1999), ended by one 0x00."""
    out = bytearray()
    for part in data.split(b"\0"):
        while len(part) >= 254:
            out += b"\xff" + part[:254]
            part = part[254:]
        out += bytes([len(part) + 1]) + part
    return bytes(out) + b"\0"


class Board:
    """Numbers its packets as a board does."""

    def __init__(self):
        self.sequence = 0

    def packet(self, kind, t_us, payload):
        raw = struct.pack("<BBI", kind, self.sequence, t_us & 0xFFFFFFFF) + payload
        self.sequence = (self.sequence + 1) % 256
        return cobs(raw + struct.pack("<H", crc16(raw)))

    def hello_cells(self, t_us, rate_hz, n, full):
        return self.packet(HELLO, t_us, struct.pack("<BBBBIIBBHHB", 1, 0, KIND_CELLS, 0, round(rate_hz * 1000), full,
                                                    0, 0, 0, 0, n))

    def hello_mat(self, t_us, rate_hz, rows, cols, pitch_mm, full):
        pitch = round(pitch_mm * 100)
        return self.packet(HELLO, t_us, struct.pack("<BBBBIIBBHHB", 1, 0, KIND_MAT, 0, round(rate_hz * 1000), full,
                                                    rows, cols, pitch, pitch, 0))

    def cells(self, t_us, counts):
        return self.packet(CELLS, t_us, struct.pack(f"<B{len(counts)}i", len(counts), *counts))

    def mat_dense(self, t_us, rows, cols, flat):
        return self.packet(MAT_DENSE, t_us, bytes([rows, cols, 12]) + pack12(flat))

    def mat_sparse(self, t_us, rows, cols, flat):
        """flat: list of counts, row by row."""
        out, at = bytearray([rows, cols, 12]), 0
        loaded = [i for i, v in enumerate(flat) if v]
        k = 0
        while k < len(loaded):
            first = loaded[k]
            end = k
            while end + 1 < len(loaded) and loaded[end + 1] == loaded[end] + 1 and loaded[end + 1] - first < 255:
                end += 1
            skip, n = first - at, loaded[end] - first + 1
            while skip > 255:
                out += bytes([255, 0])
                skip -= 255
            out += bytes([skip, n]) + pack12(flat[first:first + n])
            at = first + n
            k = end + 1
        return self.packet(MAT_SPARSE, t_us, bytes(out))


def pack12(values):
    """Two elements of 12 bits in three bytes."""
    out = bytearray()
    for i in range(0, len(values) - 1, 2):
        a, b = values[i], values[i + 1]
        out += bytes([a & 0xFF, a >> 8 | (b & 15) << 4, b >> 4])
    if len(values) % 2:
        out += bytes([values[-1] & 0xFF, values[-1] >> 8])
    return bytes(out)


def text_cells_hello(rate_hz, n, full):
    return text_line(f"#underfoot 1 kind=cells rate={rate_hz:g} n={n} full={full}")


def text_line(line):
    return f"{line}*{crc16(line.encode()):04X}\n".encode()


def recording(path, parts, notes):
    """parts: (arrival us, bytes), in order. The first arrives at 1."""
    with open(path, "wb") as f:
        f.write(b"underfoot recording 1\n")
        for name, value in notes.items():
            f.write(f"{name}: {value}\n".encode())
        f.write(b"\n")
        start = None
        for t_us, data in parts:
            start = t_us - 1 if start is None else start
            for i in range(0, len(data), 8192):
                piece = data[i:i + 8192]
                chunk = struct.pack("<BBHq", 0xC5, 0, len(piece), t_us - start) + piece
                f.write(chunk + struct.pack("<H", crc16(chunk)))
