"""Pictures are opened as four formats by their content, and measured before they are decoded."""

import io
import random
import struct
import tracemalloc
import zlib

import numpy as np
import pytest
from PIL import Image, features

from lumenmap.core import images
from lumenmap.core.errors import InputError
from lumenmap.core.images import opened
from lumenmap.motion import raster

POSTSCRIPT = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n%%EndComments\nshowpage\n"


def encoded(kind, size=(9, 7), frames=1):
    rng = np.random.default_rng(1)
    each = [
        Image.fromarray(rng.integers(0, 256, (*size[::-1], 3), np.uint8)) for _ in range(frames)
    ]
    out = io.BytesIO()
    more = {"save_all": True, "append_images": each[1:], "duration": 50} if frames > 1 else {}
    each[0].save(out, kind, **more)
    return out.getvalue()


def decode(path):
    with opened(path) as image:
        image.convert("RGB")


@pytest.mark.parametrize("kind", images.FORMATS)
def test_the_four_formats_under_any_name(kind, tmp_path):
    path = tmp_path / "picture.dat"
    path.write_bytes(encoded(kind))
    with opened(path) as image:
        assert image.size == (9, 7)


@pytest.mark.parametrize("kind", ["TIFF", "BMP", "PPM", "ICO", "TGA", "PCX", "JPEG2000"])
def test_no_other_format_whatever_its_name(kind, tmp_path):
    if kind == "JPEG2000" and not features.check("jpg_2000"):
        pytest.skip("this Pillow has no JPEG 2000")
    path = tmp_path / "picture.png"
    path.write_bytes(encoded(kind, (16, 16)))
    with pytest.raises(InputError, match="isn't a readable picture; expected PNG, JPEG, GIF or"):
        decode(path)


def test_no_program_is_started_for_postscript(tmp_path, monkeypatch):
    started = []
    monkeypatch.setattr("subprocess.Popen", lambda *a, **k: started.append(a))
    path = tmp_path / "roses.png"
    path.write_bytes(POSTSCRIPT)
    with pytest.raises(InputError, match=r"roses\.png: isn't a readable picture"):
        decode(path)
    assert not started


@pytest.mark.parametrize("kind", images.FORMATS)
def test_damaged_pictures_are_bad_pictures(kind, tmp_path):
    """Whatever a decoder raises; bytes changed at random, and cut."""
    rng, whole = random.Random(kind), encoded(kind, (40, 30), 1 if kind == "JPEG" else 3)
    path = tmp_path / "p"
    refused = 0
    for _ in range(120):
        data = bytearray(whole[: rng.randrange(8, len(whole) + 1)])
        for _ in range(rng.randrange(4)):
            data[rng.randrange(len(data))] = rng.randrange(256)
        path.write_bytes(data)
        try:
            raster.load("p", tmp_path)
        except InputError:
            refused += 1
    assert refused > 10


@pytest.mark.parametrize("error", [KeyError("x"), struct.error("x"), EOFError(), MemoryError()])
def test_anything_that_a_decoder_raises(error, tmp_path):
    path = tmp_path / "p.png"
    path.write_bytes(encoded("PNG"))
    with pytest.raises(InputError, match="isn't a readable picture"), opened(path):
        raise error


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_picture_that_is_cut_short_is_told_so(kind, tmp_path):
    """It was said to be none, and a JPEG expected: of one whose copying was broken off."""
    path, whole = tmp_path / "front.jpg", encoded(kind, (400, 300))
    path.write_bytes(whole[: len(whole) * 2 // 3])
    with pytest.raises(InputError, match=f"it is a {kind}, but damaged or cut short; copy it"):
        decode(path)


def png_that_claims(wide, high):
    """A PNG of so many pixels in a few bytes: https://www.w3.org/TR/png-3/ [P]."""

    def chunk(kind, data):
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    pieces = [(b"IHDR", head), (b"IDAT", zlib.compress(b"")), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*piece) for piece in pieces)


def test_a_large_picture_is_refused_before_it_is_decoded(tmp_path):
    path = tmp_path / "p.png"
    path.write_bytes(png_that_claims(7000, 6000))
    with pytest.raises(
        InputError, match="is too large: 7000 × 6000 are 42 million pixels; at most 40 million"
    ):
        decode(path)


def test_a_picture_that_the_library_itself_finds_too_large_is_called_so(tmp_path):
    """Some telephones take 200 million pixels."""
    path = tmp_path / "p.png"
    path.write_bytes(png_that_claims(16320, 12240))
    with pytest.raises(
        InputError, match=r"p\.png: is too large: over 179 million pixels; at most 40 million"
    ):
        decode(path)


@pytest.mark.parametrize("brand", ["heic", "mif1", "avif"])
def test_what_phones_take_is_called_by_its_name(tmp_path, brand):
    """The first bytes of an ISO base media file are its length, ftyp and a brand [M]."""
    path = tmp_path / "IMG_1.HEIC"
    path.write_bytes(b"\0\0\0\x24ftyp" + brand.encode() + bytes(200))
    with pytest.raises(InputError, match=r"IMG_1\.HEIC: is a HEIC or AVIF picture.*as JPEG"):
        decode(path)


def test_a_long_animation_is_refused_before_it_is_decoded(tmp_path, monkeypatch):
    monkeypatch.setattr(images, "MOST_IN_ALL", 9 * 7 * 4)
    path = tmp_path / "p.gif"
    path.write_bytes(encoded("GIF", frames=5))
    with pytest.raises(InputError, match="is too large: 5 frames of 9 × 7 pixels"):
        decode(path)
    path.write_bytes(encoded("GIF", frames=4))
    decode(path)


def test_frames_are_kept_in_a_budget(tmp_path, monkeypatch):
    """However long and tall an animation is; it is made smaller and keeps its shape."""
    monkeypatch.setattr(raster, "_MOST_KEPT", 200_000)
    (tmp_path / "p.gif").write_bytes(encoded("GIF", (300, 600), 12))
    tracemalloc.start()
    try:
        got = raster.load("p.gif", tmp_path)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert got.srgb.nbytes <= 200_000
    assert len(got.srgb) == 12
    assert got.srgb.shape[1] / got.srgb.shape[2] == pytest.approx(2, rel=0.03)
    assert peak < 200_000 + 5 * 300 * 600 * 4, "no more than a frame at a time beside them"


@pytest.mark.parametrize("name", ["../p.png", "a\0b", "loop"])
def test_paths_that_lead_elsewhere(name, tmp_path):
    folder = tmp_path / "show"
    folder.mkdir()
    (tmp_path / "p.png").write_bytes(encoded("PNG"))
    (folder / "loop").symlink_to("loop")
    with pytest.raises(InputError, match="outside the folder|isn't a path|isn't a readable"):
        raster.load(name, folder)
