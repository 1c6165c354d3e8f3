"""Damaged images and tables on the player, under AddressSanitizer and UBSan.

LUMENMAP_MUTATIONS=200000 runs as many as it says instead of 6,000 of each.
"""

import os
import subprocess
from dataclasses import replace

import pytest

from lumenmap.controller.board.table import Entry, year_table
from lumenmap.controller.flash.caps import caps_of
from lumenmap.controller.flash.image import flash_image
from tests.controller.board.conftest import show_of

COUNT = int(os.environ.get("LUMENMAP_MUTATIONS", "6000"))


@pytest.fixture
def fuzz(fuzz_program):
    def run(*words):
        got = subprocess.run([fuzz_program, *map(str, words)], capture_output=True, text=True)
        assert got.returncode == 0 and not got.stderr, got.stdout + got.stderr[-3000:]
        print(got.stdout, end="")
        return dict(reversed(p.strip().split(" ", 1)) for p in got.stdout.strip().split(","))

    return run


def small_show(counts=(12, 8), channels=3):
    """Three seconds at 12 frames/s, with two budgets as tight as the show itself allows."""
    frames = show_of(frames=36, counts=counts, fps=12.0, channels=channels)
    first = counts[0] + 2
    caps = {
        "names": ["front", "all"],
        "limits": [1 << 50, 1 << 50],
        "weights": [[5, 5, 3, 4][:channels], [1, 2, 3, 4][:channels]],
        "zones": [
            {"pixels": first, "share": [4096, 2000]},
            {"pixels": sum(counts) - first, "share": [0, 4096]},
        ],
    }
    peaks = caps_of(replace(frames, meta={"caps": caps})).sums(frames).max(axis=0)
    return replace(frames, meta={"caps": {**caps, "limits": peaks.tolist()}})


@pytest.mark.parametrize("channels", [3, 4])
def test_damaged_images_show_true_frames_or_none_and_never_go_over_caps(fuzz, tmp_path, channels):
    frames = small_show(channels=channels)
    (tmp_path / "image").write_bytes(flash_image(frames))
    (tmp_path / "frames").write_bytes(frames.codes.tobytes())
    ends = fuzz("image", tmp_path / "image", tmp_path / "frames", COUNT // 2, 5 + channels)
    assert ends["over caps"] == ends["wrong"] == "0"
    assert int(ends["playing"]) + int(ends["error"]) == COUNT // 2
    assert int(ends["held back by caps"]) > 0, "some would have gone over"
    assert int(ends["playing"]) > 0 < int(ends["frames shown"]), "some new CRCs pass for sound"


def test_every_single_bit_is_caught_before_it_is_shown(fuzz, tmp_path):
    frames = show_of(frames=6, counts=(3, 2), fps=3.0)
    (tmp_path / "image").write_bytes(flash_image(frames))
    (tmp_path / "frames").write_bytes(frames.codes.tobytes())
    out = fuzz("bits", tmp_path / "image", tmp_path / "frames")
    assert out["not"] == out["wrong"] == "0"


def test_damaged_tables_are_noticed(fuzz, tmp_path):
    day = 86400
    entries = [
        Entry(day * i + 60000, day * i + 75000, day * i + 60000, i % 3, 255) for i in range(300)
    ]
    (tmp_path / "table").write_bytes(year_table(entries, [7, 8, 9], (0, 366 * day), default=1))
    ends = fuzz("table", tmp_path / "table", COUNT, 11)
    assert ends["bad"] == "0" and int(ends["play"]) > 0 < int(ends["corrupt"])
