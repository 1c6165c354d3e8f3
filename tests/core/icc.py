"""A colour profile as telephones put it into their pictures, written by hand."""

import struct

#: The primaries of Display P3 as colorants of a profile: XYZ under D50 (from memory).
P3 = [(0.5151, 0.2412, -0.0011), (0.2920, 0.6922, 0.0419), (0.1571, 0.0666, 0.7841)]


def number(value):
    """A signed number of 16 bits and 16 after the point: s15Fixed16Number, ICC.1:2022, 4.6 [P]."""
    return struct.pack(">i", round(value * 65536))


def profile(primaries=P3):
    """A profile of three colorants and one curve of power 2.2 (ICC.1:2022, 8.3.3) [P]."""

    def xyz(values):
        return b"XYZ \0\0\0\0" + b"".join(map(number, values))

    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(2.2 * 256)) + b"\0\0"
    text = b"desc\0\0\0\0" + struct.pack(">I", 3) + b"P3\0" + bytes(12 + 67 + 3)
    tags = {
        b"desc": text,
        b"wtpt": xyz((0.9642, 1, 0.8249)),
        b"cprt": b"text\0\0\0\0none\0\0\0\0",
        **dict(zip((b"rXYZ", b"gXYZ", b"bXYZ"), map(xyz, primaries), strict=True)),
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }
    at, table, body = 132 + 12 * len(tags), struct.pack(">I", len(tags)), b""
    for name, data in tags.items():
        table += name + struct.pack(">II", at + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    d50 = b"".join(map(number, (0.9642, 1, 0.8249)))
    head = struct.pack(
        ">I4sI4s4s4s", at + len(body), bytes(4), 0x02100000, b"mntr", b"RGB ", b"XYZ "
    )
    head += bytes(12) + b"acsp" + bytes(28) + d50
    return head.ljust(128, b"\0") + table + body
