"""Pictures come as sRGB in 8 bits, however their file has them."""

import io
import struct

import numpy as np
import pytest
from coloraide import Color
from PIL import Image

from lumenmap.camera.marks.photo import read_photo
from lumenmap.core.images import as_rgb

#: The primaries of Display P3 as colorants of a profile (D50), as coloraide adapts them.
PRIMARIES = [
    Color("display-p3", list(rgb)).convert("xyz-d50")[:3] for rgb in np.eye(3, dtype=float)
]


def number(value):
    """A signed number of 16 bits and 16 after the point: s15Fixed16Number, ICC.1:2022, 4.6 [P]."""
    return struct.pack(">i", round(value * 65536))


def profile():
    """A profile of three colorants and one curve of power 2.2 (ICC.1:2022, 8.3.3) [P]."""

    def xyz(values):
        return b"XYZ \0\0\0\0" + b"".join(map(number, values))

    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(2.2 * 256)) + b"\0\0"
    text = b"desc\0\0\0\0" + struct.pack(">I", 3) + b"P3\0" + bytes(12 + 67 + 3)
    tags = {
        b"desc": text,
        b"wtpt": xyz((0.9642, 1, 0.8249)),
        b"cprt": b"text\0\0\0\0none\0\0\0\0",
        **dict(zip((b"rXYZ", b"gXYZ", b"bXYZ"), map(xyz, PRIMARIES), strict=True)),
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


def opened(image, kind, **words):
    out = io.BytesIO()
    image.save(out, kind, **words)
    return Image.open(out)


@pytest.mark.parametrize(
    "rgb", [(0.8, 0.3, 0.2), (0.2, 0.7, 0.3), (0.3, 0.35, 0.8), (0.5, 0.5, 0.5)]
)
def test_a_picture_in_a_telephones_colour_space_has_the_colours_it_was_seen_in(rgb):
    """As coloraide converts Display P3, whose curve is sRGB's; here it is a power of 2.2."""
    linear = [v**2.2 for v in rgb]
    xyz = [sum(p[i] * v for p, v in zip(PRIMARIES, linear, strict=True)) for i in range(3)]
    wanted = Color("xyz-d50", xyz).convert("srgb").clip()[:3]
    codes = tuple(round(255 * v) for v in rgb)
    found = opened(Image.new("RGB", (8, 8), codes), "PNG", icc_profile=profile())
    got = np.asarray(as_rgb(found))[0, 0] / 255
    assert np.abs(got - wanted).max() < 2 / 255
    if len(set(rgb)) > 1:
        assert np.abs(np.array(codes) / 255 - wanted).max() > 5 / 255, "else nothing is tested"


@pytest.mark.parametrize("damaged", [b"", b"no profile", profile()[:200], profile()[:-4]])
def test_a_profile_that_cant_be_read_is_left_out(damaged):
    found = opened(Image.new("RGB", (8, 8), (200, 80, 50)), "JPEG", icc_profile=damaged, quality=95)
    assert np.abs(np.asarray(as_rgb(found))[4, 4].astype(int) - (200, 80, 50)).max() < 12


def test_grey_in_16_bits_is_grey_in_8(tmp_path):
    grey = np.linspace(0, 65535, 400).astype(np.uint16)[None].repeat(400, 0)
    Image.fromarray(grey).save(tmp_path / "g.png")
    codes = read_photo(tmp_path / "g.png").codes
    assert np.abs(codes[0, :, 1] - grey[0] / 257).max() <= 1


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "CMYK", "1"])
def test_every_other_kind_is_as_the_library_has_it(mode):
    image = Image.fromarray(
        np.arange(64 * 64 * 3, dtype=np.uint32).astype(np.uint8).reshape(64, 64, 3)
    )
    other = image.convert(mode)
    assert np.array_equal(np.asarray(as_rgb(other)), np.asarray(other.convert("RGB")))
