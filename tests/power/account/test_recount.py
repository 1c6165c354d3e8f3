"""The recount of bytes, against a plain sum over pixels and channels in Python's own arithmetic."""

import warnings
from dataclasses import replace

import numpy as np
import pytest

from lumenmap.parts.light import dies_of
from lumenmap.power.account import octets
from lumenmap.power.account.recount import recount
from lumenmap.power.limits.budgets import budgets

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

FRAMES = 23


@pytest.fixture
def counted(two_lines, tmp_path, monkeypatch):
    """Random bytes of a house whose lines have other channel orders, read in several blocks."""
    house, pixelmap = two_lines
    kind = replace(pixelmap.kind, channel_ma=(20.0, 18.0, 12.0))
    lines = tuple(replace(s, order=o) for s, o in zip(pixelmap.lines, ("GRB", "BRG"), strict=True))
    pixelmap = replace(pixelmap, kind=kind, lines=lines)
    held = budgets(house, pixelmap)
    codes = np.random.default_rng(8).integers(0, 40, (FRAMES, 80, 3), np.uint8)
    codes[[17, 21]] = 60  # in two blocks: the first of equal peaks is the one to name
    raw = codes.copy()
    raw[:, :50] = codes[:, :50][..., [1, 0, 2]]
    raw[:, 50:] = codes[:, 50:][..., [2, 0, 1]]
    file = tmp_path / "frames.rgb"
    file.write_bytes(raw.tobytes())
    monkeypatch.setattr(octets, "_BLOCK", 5 * raw[0].size)
    return file, pixelmap, held, codes


def by_hand(codes, pixelmap, share):
    """A of each budget in each frame: each pixel's current, times its share."""
    amps = np.zeros((len(codes), len(share)))
    for t, frame in enumerate(codes.tolist()):
        for n, pixel in enumerate(frame):
            own = sum(c * ma for c, ma in zip(pixel, pixelmap.kind.channel_ma, strict=True)) / 255
            amps[t] += (own + pixelmap.kind.idle_ma) / 1000 * share[:, n]
    return amps


def test_peak_mean_and_frame_are_those_of_a_plain_sum(counted):
    file, pixelmap, held, codes = counted
    amps = by_hand(codes, pixelmap, held.share)
    rows = recount(file, pixelmap, held).rows()
    assert [r.peak for r in rows] == pytest.approx(amps.max(axis=0))
    assert [r.mean for r in rows] == pytest.approx(amps.mean(axis=0), abs=1e-9)
    assert [r.worst for r in rows] == amps.argmax(axis=0).tolist()


def test_a_frame_one_part_in_a_thousand_over_is_reported_and_one_under_is_not(counted):
    file, pixelmap, held, codes = counted
    amps = by_hand(codes, pixelmap, held.share)
    peak = amps.max(axis=0)
    over = recount(file, pixelmap, replace(held, amps=peak * 0.999)).over
    assert (17, 0) in {(frame, k) for frame, k, _ in over}
    assert all(a == pytest.approx(amps[frame, k]) for frame, k, a in over)
    assert recount(file, pixelmap, replace(held, amps=peak * 1.001)).over == []


class Watch:
    """Stands in for the flash counter: keeps the light that it is given."""

    def __init__(self):
        self.light = []

    def add(self, light):
        self.light.append(light)

    def findings(self):
        return []


def test_flashes_are_counted_in_the_colours_of_the_show(counted):
    file, pixelmap, held, codes = counted
    watch = Watch()
    recount(file, pixelmap, held, watch)
    assert len(watch.light) > 3, "several blocks"
    # As linear sRGB of the same X, Y, Z: IEC 61966-2-1's matrix from colour-science.
    dies = dies_of(pixelmap.kind)
    xyz = codes / 255 @ (dies.xyz / dies.seen(dies.balance)[1]).T
    looks = np.clip(xyz @ colour.RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB.T, 0, None)
    assert np.concatenate(watch.light) == pytest.approx(looks, abs=2e-4)
