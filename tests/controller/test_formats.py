import csv
import json

import numpy as np
import pytest

from lumenmap.controller.e131.cid import house_cid
from lumenmap.controller.files.frameset import open_frames
from lumenmap.controller.files.registry import format_named, formats, read_options, write_formats
from lumenmap.core.errors import CheckError, InputError


@pytest.fixture
def folder(tmp_path, make_frames):
    """An export as the frame writer leaves it, and what is in it."""
    import hashlib

    frames = make_frames(12, (50, 7))
    data = frames.codes.tobytes()
    (tmp_path / "frames.rgb").write_bytes(data)
    lines = [
        {
            "name": x.name,
            "first": x.first,
            "count": x.count,
            "universe": x.universe,
            "order": x.order,
        }
        for x in frames.lines
    ]
    side = {
        "format": "lumenmap-frames",
        "version": 1,
        "frames": 12,
        "fps": 40.0,
        "pixels": 57,
        "channels": 3,
        "lines": lines,
        "sha256": hashlib.sha256(data).hexdigest(),
        "house": "house.toml",
    }
    (tmp_path / "frames.json").write_text(json.dumps(side))
    return tmp_path, frames, side


def test_frames_are_read_as_they_were_written(folder):
    path, frames, _ = folder
    got = open_frames(path)
    assert (got.codes == frames.codes).all() and got.lines == frames.lines
    assert got.fps == 40 and got.seconds == 0.3


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"version": 2}, "version 2; expected version 1"),
        ({"format": "else"}, "lumenmap-frames"),
        ({"fps": float("nan")}, "fps"),
        ({"fps": float("inf")}, "fps"),
        ({"fps": 0}, "fps"),
        ({"frames": -1}, "frames"),
        ({"frames": 13}, r"has 2052 bytes; 13 frames × 57 pixels × 3 channels need 2223"),
        ({"frames": 10**15}, "bytes"),
        ({"pixels": 56}, "have 57 pixels in all, but pixels is 56"),
        ({"channels": 5}, "channels"),
        ({"lines": []}, "lines"),
        ({"lines": "all"}, "lines"),
        ({"sha256": None}, "sha256"),
    ],
)
def test_sidecar_that_lies_is_refused(folder, change, match):
    path, _, side = folder
    (path / "frames.json").write_text(json.dumps({**side, **change}))
    with pytest.raises(InputError, match=match):
        open_frames(path)


def test_lines_that_do_not_follow_each_other_are_refused(folder):
    path, _, side = folder
    side["lines"][1]["first"] = 51
    (path / "frames.json").write_text(json.dumps(side))
    with pytest.raises(InputError, match=r"lines item 2: starts at pixel 51, .* end at pixel 50"):
        open_frames(path)
    side["lines"][1] |= {"first": 50, "order": "RGR"}
    (path / "frames.json").write_text(json.dumps(side))
    with pytest.raises(InputError, match='order is "RGR"'):
        open_frames(path)


def test_changed_bytes_are_noticed(folder):
    path, frames, _ = folder
    data = bytearray(frames.codes.tobytes())
    data[100] ^= 1
    (path / "frames.rgb").write_bytes(data)
    with pytest.raises(CheckError, match="frames.rgb: has changed since frames.json was written"):
        open_frames(path)


@pytest.mark.parametrize("text", ["", "[]", "{", "null", '"x"', "[" * 100_000])
def test_sidecar_that_is_no_table_is_refused(folder, text):
    path, _, _ = folder
    (path / "frames.json").write_text(text)
    with pytest.raises(InputError, match=r"frames.json: .*(isn't JSON|isn't a frames.json)"):
        open_frames(path)


def test_missing_files_are_said(tmp_path):
    with pytest.raises(InputError, match=r"frames.json: no such file in .*nowhere"):
        open_frames(tmp_path / "nowhere")


def test_array_and_raw_hold_the_codes(folder):
    path, frames, _ = folder
    format_named("npy").write(frames, path / "a.npy", {})
    assert (np.load(path / "a.npy", allow_pickle=False) == frames.codes).all()
    format_named("raw").write(frames, path / "a.rgb", {})
    assert (path / "a.rgb").read_bytes() == frames.codes.tobytes()


def test_table_is_a_frame_a_row(folder):
    path, frames, _ = folder
    format_named("csv").write(frames, path / "a.csv", {})
    with (path / "a.csv").open(newline="", encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    assert head[:4] == ["frame", "seconds", "line-0 1 R", "line-0 1 G"]
    assert head[-1] == "line-1 7 B" and len(rows) == 12
    assert [int(x) for x in rows[5][2:]] == frames.flat()[5].tolist()
    assert float(rows[5][1]) == 0.125


def test_formats_are_found_and_described():
    known = formats()
    assert set(known) >= {"raw", "npy", "csv", "pcap", "flash", "c_array"}
    for f in known.values():
        assert f.summary.endswith(".") and f.suffix.startswith(".")
        for name in f.options:
            assert f"``{name}``" in f.function.__doc__, "each option is explained"


def test_unknown_format_and_options_are_refused(folder):
    path, frames, _ = folder
    with pytest.raises(InputError, match='no format "flush"; did you mean "flash"'):
        format_named("flush")
    with pytest.raises(
        InputError, match='format "flash" has no option "lost"; did you mean "loss"'
    ):
        format_named("flash").write(frames, path / "x", {"lost": "1"})
    with pytest.raises(InputError, match='option loss is "some"; expected a whole number'):
        format_named("flash").write(frames, path / "x", {"loss": "some"})
    with pytest.raises(InputError, match='option steady is "maybe"; expected yes or no'):
        format_named("pcap").write(frames, path / "x", {"steady": "maybe"})
    assert not (path / "x").exists()


def test_same_show_gives_the_same_capture(folder):
    path, frames, _ = folder
    for name in ("a", "b"):
        format_named("pcap").write(frames, path / name, {"to": "192.0.2.9"})
    assert (path / "a").read_bytes() == (path / "b").read_bytes()


def test_cid_is_made_once_and_kept(tmp_path):
    kept = tmp_path / "kept"
    first = house_cid(tmp_path / "a" / "house.toml", folder=kept)
    assert first.version == 4
    assert house_cid(tmp_path / "a" / "house.toml", folder=kept) == first
    assert house_cid(tmp_path / "b" / "house.toml", folder=kept) != first
    assert house_cid(tmp_path / "a" / "house.toml", folder=tmp_path / "other") != first


def test_cid_where_nothing_can_be_kept_is_still_the_same(tmp_path):
    (tmp_path / "file").write_text("")
    got = {house_cid(tmp_path / "house.toml", folder=tmp_path / "file") for _ in range(3)}
    assert len(got) == 1


def test_an_image_comes_with_its_decoder(folder):
    """The header and the C99 source that the README tells people to compile."""
    path, *_ = folder
    written = write_formats(path, read_options(["flash", "csv"], ["loss=1"]))
    names = [w["file"] for w in written]
    assert names[:2] == ["frames.lmfi", "frames.csv"]
    assert {"lumenmap_flash.c", "lumenmap_flash.h"} <= set(names)
    for w in written:
        assert (path / w["file"]).stat().st_size == w["bytes"] > 0
