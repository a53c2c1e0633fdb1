"""Noise of the module's gyro from MODEL.md section 7.4 alone: writes gyro_noise.csv beside itself.

ChaCha20 as D. J. Bernstein defines it (64-bit counter, 64-bit nonce), written out here and checked against the first bytes of the published
key stream of the all-zero key and nonce before use.
"""

import math
import struct
from pathlib import Path


def block(key, counter, nonce):
    start = list(struct.unpack("<4I", b"expand 32-byte k") + struct.unpack("<8I", key) + struct.unpack("<4I", struct.pack("<QQ", counter, nonce)))
    x = start[:]

    def add_xor_turn(a, b, d, by):
        x[a] = (x[a] + x[b]) & 0xFFFFFFFF
        x[d] ^= x[a]
        x[d] = ((x[d] << by) | (x[d] >> (32 - by))) & 0xFFFFFFFF

    def quarter(a, b, c, d):
        add_xor_turn(a, b, d, 16)
        add_xor_turn(c, d, b, 12)
        add_xor_turn(a, b, d, 8)
        add_xor_turn(c, d, b, 7)

    for _ in range(10):
        for column in range(4):
            quarter(column, 4 + column, 8 + column, 12 + column)
        for i in range(4):
            quarter(i, 4 + (i + 1) % 4, 8 + (i + 2) % 4, 12 + (i + 3) % 4)
    return struct.pack("<16I", *((a + b) & 0xFFFFFFFF for a, b in zip(x, start)))


assert block(bytes(32), 0, 0)[:8].hex() == "76b8e0ada0f13d90"


def normals(seed, k):
    a = [w >> 11 for w in struct.unpack("<4Q", block(struct.pack("<Q", seed) + bytes(24), 0, k)[:32])]
    radius = lambda x: math.sqrt(-2.0 * math.log((x + 1) * 2.0**-53))
    turn = [2.0 * math.pi * x * 2.0**-53 for x in a]
    return radius(a[0]) * math.cos(turn[1]), radius(a[0]) * math.sin(turn[1]), radius(a[2]) * math.cos(turn[3])


rows = [
    "# Source: gyro_noise.py beside this file, from MODEL.md section 7.4; the key stream checked against the published one of the all-zero key (from memory).",
    "seed, k, p, q, r",
]
for seed, k in [(0, 0), (0, 1), (7, 0), (7, 1), (7, 123456), (2**40 + 5, 2**33)]:
    rows.append(", ".join([str(seed), str(k)] + [repr(x) for x in normals(seed, k)]))
Path(__file__).with_suffix(".csv").write_text("\n".join(rows) + "\n")
