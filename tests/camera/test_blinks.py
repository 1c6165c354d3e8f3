"""The blinking: numbers come back from what is shown, within budgets and without flashes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.camera.blinks.blinking import BIT, FPS, Blinking
from lumenmap.codes.flashing import FlashCounter
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.jobs.blinking import blinking_frames, blinking_of
from lumenmap.parts.light import as_seen
from lumenmap.power.limits.limit import limit
from lumenmap.site import Site


@given(st.integers(1, 3000), st.integers(1, 9))
def test_every_pixel_shows_its_number(count, passes):
    blinking = Blinking(count, 3, passes)
    for turn in range(passes):
        own = np.flatnonzero(blinking.turns == turn)
        assert (blinking.numbers(turn, blinking.codes[own]) == own).all()


def test_one_wrong_bit_is_no_number():
    """The parity bit tells any single bit that was read wrong."""
    blinking = Blinking(637)
    for turn in range(8):
        own = np.flatnonzero(blinking.turns == turn)
        for place in range(blinking.bits + 1):
            codes = blinking.codes[own].copy()
            codes[:, place] ^= True
            assert (blinking.numbers(turn, codes) == -1).all()


def test_neighbours_differ_in_one_bit_and_parity():
    """Gray's code: the next number differs in one bit (Gray 1953), and so in the parity."""
    codes = Blinking(400, 3, 1).codes
    assert (np.diff(codes.astype(int), axis=0) != 0).sum(1).tolist() == [2] * 399


def test_the_light_is_that_of_the_pictures():
    blinking = Blinking(50, 3, 4)
    light = blinking.light(0.25)
    assert light.shape == (round(blinking.seconds * FPS), 50, 3)
    for picture in blinking.pictures:
        middle = round((picture.start + picture.seconds / 2) * FPS - 0.5)
        shown = light[middle] > 0
        lit = blinking.lit(picture)
        assert (shown.any(1) == lit).all()
        if picture.shows == "channel":
            assert (shown[:, picture.place] == lit).all()
            assert shown.sum() == lit.sum()
    # Never two neighbours within a pass, and dark at both ends.
    passes = [p for p in blinking.pictures if p.shows == "bit"]
    for picture in passes:
        assert (np.diff(np.flatnonzero(blinking.lit(picture))) % 4 == 0).all()
    assert not light[:5].any()
    assert not light[-5:].any()


@pytest.mark.parametrize("house", ["marlow-bend", "alder-cottage", "kelder-studio"])
def test_it_is_within_budgets_and_does_not_flash(house, examples):
    """WCAG 2.2, 2.3.1: no more than three flashes a second; counted as every show's are."""
    site = Site.read(examples / house / "house.toml")
    blinking = blinking_of(site, measured=True)
    made = limit(blinking.light(0.5), site.budgets)
    assert (made.amps <= np.asarray(site.budgets.amps) * (1 + 1e-9)).all()
    watch = FlashCounter(FPS, site.flash_regions)
    watch.add(as_seen(made.codes.astype(np.float32) / np.float32(255), site.house.kind))
    assert watch.findings() == []
    assert 1 / BIT <= 5  # five changes a second are two and a half flashes


def test_frames_for_the_wire(examples):
    frames, words = blinking_frames(examples / "marlow-bend/house.toml")
    site = Site.read(examples / "marlow-bend/house.toml")
    assert frames.fps == FPS
    assert len(frames.codes) == round(blinking_of(site, measured=True).seconds * FPS)
    assert frames.codes.max() > 40
    assert any("flashing light can trigger seizures" in line for line in words)


@pytest.mark.parametrize("level", [0, -1, 0.6, float("nan")])
def test_too_bright_is_refused(examples, level):
    with pytest.raises(InputError, match="expected more than 0, at most 0.5"):
        blinking_frames(examples / "marlow-bend/house.toml", level)


def test_dangerous_wiring_does_not_blink(tmp_path, examples):
    text = (examples / "marlow-bend/house.toml").read_text().replace("fuse = 3", "fuse = 30")
    (tmp_path / "house.toml").write_text(text)
    with pytest.raises(LumenmapError, match="fuse"):
        blinking_frames(tmp_path / "house.toml")


def test_the_command_writes_the_blinking(tmp_path, examples, lumenmap):
    out = tmp_path / "blinks.rgb"
    done = lumenmap("survey", examples / "kelder-studio/house.toml", "-o", out)
    assert done.code == 0, done.err
    assert "three times" in done.out
    frames = np.fromfile(out, np.uint8).reshape(-1, 210, 3)
    site = Site.read(examples / "kelder-studio/house.toml")
    assert len(frames) == round(blinking_of(site, measured=True).seconds * FPS)


@given(st.integers(1, 31))
def test_groups_are_told_apart(count):
    """Rows of Hadamard's matrix are orthogonal: each row less its inverse has every group's sign."""
    starts = tuple(range(0, 4 * count, 4))
    blinking = Blinking(4 * count, 3, 8, starts)
    rows = [p for p in blinking.pictures if p.shows == "group" and not p.inverse]
    signs = np.array([np.where(blinking.lit(p), 1, -1)[::4] for p in rows])
    product = signs.T @ signs + 1  # with the row of ones
    assert (product == (len(rows) + 1) * np.eye(count, dtype=int)).all()
    # About half of the house in each, if there are groups enough.
    assert count < 8 or 0.3 < np.mean([blinking.lit(p).mean() for p in rows]) < 0.7
