"""Photographs that a page sends: for their colours alone, and none that hurts."""

import json
import re
import struct

import pytest

from tests.desk.conftest import running


def photo(kind="PNG", size=(60, 40), colours=((255, 30, 30), (30, 60, 255))):
    """A picture of stripes (invented)."""
    import io

    from PIL import Image

    image = Image.new("RGB", size)
    for i, colour in enumerate(colours):
        wide = size[0] // len(colours)
        image.paste(colour, (i * wide, 0, (i + 1) * wide, size[1]))
    made = io.BytesIO()
    image.save(made, kind)
    return made.getvalue()


def sent(desk, body, kind="image/png", **words):
    words.setdefault("cookie", desk.let_in())
    return desk.http("POST", words.pop("path", "/photo"), body, Content_Type=kind, **words)


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF", "WebP"])
def test_a_photo_gives_its_colours_and_isnt_kept(shared_desk, kind):
    before = sorted(shared_desk.folder.rglob("*"))
    got = sent(shared_desk, photo(kind), f"image/{kind.lower()}")
    assert got.status == 200 and got.headers["content-type"].startswith("application/json")
    colours = json.loads(got.body)["colours"]
    assert len(colours) == 2 and all(re.fullmatch("#[0-9a-f]{6}", c) for c in colours)
    assert colours[0][1:3] > colours[0][5:7] and colours[1][1:3] < colours[1][5:7]  # red, blue
    assert sorted(shared_desk.folder.rglob("*")) == before
    assert got.headers["cache-control"] == "no-store"


def test_a_photo_is_known_by_its_content(shared_desk):
    assert sent(shared_desk, photo("JPEG"), "image/png").status == 200
    for body in (b"", b"MZ" + bytes(5000), b"<svg onload=alert(1)>", photo("TIFF")):
        got = sent(shared_desk, body)
        assert got.status == 422, body[:10]
        assert got.text.startswith("The photo isn't a readable picture; expected PNG, JPEG")
    cut = sent(shared_desk, photo()[:60])
    assert cut.status == 422
    assert "it is a PNG, but damaged or cut short" in cut.text
    assert sent(shared_desk, photo(colours=((0, 0, 0),))).text.startswith("The photo is black")


@pytest.mark.parametrize(
    ("words", "status"),
    [
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": None}, 403),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
        ({"cookie": None}, 401),
        ({"kind": "text/plain"}, 415),
        ({"kind": "multipart/form-data; boundary=x"}, 415),
        ({"kind": "application/json"}, 415),
        ({"kind": "image/svg+xml"}, 415),
        ({"Content_Length": str((16 << 20) + 1)}, 413),
        ({"Content_Length": None}, 413),
        ({"Host": "evil.example"}, 421),
    ],
)
def test_a_photo_of_another_page_isnt_read(shared_desk, words, status):
    kind = words.pop("kind", "image/png")
    assert sent(shared_desk, photo(), kind, **words).status == status


def test_other_paths_take_no_photo(shared_desk):
    assert sent(shared_desk, photo(), path="/pair").status == 415
    assert shared_desk.http("GET", "/photo", cookie=shared_desk.let_in()).status == 405


def test_a_device_of_the_evening_sends_no_photo(shared_desk):
    token, _ = shared_desk.desk.pairing.invite("evening")
    got = shared_desk.http("GET", f"/open?token={token}")
    cookie = got.headers["set-cookie"].split(";")[0]
    assert sent(shared_desk, photo(), cookie=cookie).status == 403


def test_a_picture_that_would_fill_the_memory_is_refused_unread(shared_desk):
    """A PNG of a few hundred bytes that says it is 8,000 pixels wide (invented)."""
    import zlib

    head = struct.pack(">IIBBBBB", 8_000, 8_000, 8, 2, 0, 0, 0)
    chunks = [(b"IHDR", head), (b"IDAT", zlib.compress(bytes(99))), (b"IEND", b"")]
    body = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in chunks
    )
    got = sent(shared_desk, body)
    assert got.status == 422 and "too large" in got.text and "8000" in got.text


def test_many_photos_at_once_wait_or_are_asked_to_come_again(house):
    with running(house) as desk:
        desk.let_in()
        found = [sent(desk, photo()).status for _ in range(25)]
        assert found[:20] == [200] * 20 and found[-1] == 429
        assert desk.http("GET", "/", cookie=desk.let_in()).status == 200
