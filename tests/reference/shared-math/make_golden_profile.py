#!/usr/bin/env python3
"""A drive profile written byte by byte from shared-math/PROFILE.md, with Python's struct and zlib alone.

Run: python3 make_golden_profile.py 1 > golden_profile_1.hex; python3 make_golden_profile.py 2 > golden_profile_2.hex
The argument is the version. The test encodes the same values (ProfileCodecTests.Golden) and must get these very bytes.
"""
import struct
import sys
import zlib

version = int(sys.argv[1])
name = b"Golden rig 1/4-20"
head = struct.pack(
    "<4sBBHIIqqiiiiiiiq",
    b"HhDP", version, 1, 0b10011, 0, 0x89ABCDEF, 25792 * 32, 405, 3000, 1500, 600, 60, 40, -12345, 4567890, 0,
)
rows = ((1800000, 0, 62914560, -70000, 1234), (900000, 62845794, 31457280, 5, -6))
if version == 1:
    segments = b"".join(struct.pack("<iqqii", *row) for row in rows)
    entry = "<qiI"
else:
    segments = b"".join(struct.pack("<iqqq", row[0], *row[2:]) for row in rows)
    entry = "<qqI"
terms = struct.pack(entry, 3200 << 16, -98304, 0x40000000) + struct.pack(entry, 1600 << 16, 777, 0xFFFFFFFF)
dc = struct.pack("<iiiiii", 12000, 1500, 256, 64, 9000, 2) + struct.pack("<iiii", 800, 10000, 9000, 250000)


def section(tag, body):
    return struct.pack("<BBH", tag, 0, len(body)) + body


body = head + bytes([len(name)]) + name + section(1, segments) + section(2, terms) + section(3, dc)
size = len(body) + 4
body = body[:8] + struct.pack("<I", size) + body[12:]
body += struct.pack("<I", zlib.crc32(body))
for at in range(0, len(body), 32):
    print(body[at : at + 32].hex())
