"""Ideas that families have, as the example shows have them: what is lit, and when."""

import tomllib
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from lumenmap.almanac.load import load_almanac
from lumenmap.frames.render import render, render_block
from lumenmap.jobs.project import load

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "alder-cottage"
IDEAS = ["candles", "countdown", "beat-edges", "sunrise", "growing-rain"]
#: Light that counts as lit.
LIT = 0.02


def project(name, **values):
    return load(FOLDER / f"{name}.toml", values=values)


def light(work, *seconds):
    """(T, N) light of the brightest channel at some moments."""
    frames = [round(s * work.show.fps) for s in seconds]
    return np.concatenate([render_block(work.plan, f, f + 1) for f in frames]).max(-1)


def across(work):
    """(N,) 0..1 from the left of the house to its right."""
    x = work.site.pixels.xyz[:, 0]
    return (x - x.min()) / (x.max() - x.min())


@pytest.mark.parametrize("name", IDEAS)
def test_an_idea_takes_at_most_twelve_lines(name):
    """Beyond [show], the palettes and the values, comments and blank lines apart."""
    count, counted = 0, True
    for line in (FOLDER / f"{name}.toml").read_text().splitlines():
        text = line.partition("#")[0].strip()
        if text.startswith("["):
            counted = not text.startswith(("[show]", "[palette", "[values]"))
        count += bool(text) and counted
    assert 4 <= count <= 12
    assert "cue" in tomllib.loads((FOLDER / f"{name}.toml").read_text())


@pytest.mark.parametrize("night", range(1, 9))
def test_one_more_candle_is_lit_each_night(night):
    work = project("candles", candles=night)
    seen = light(work, 0, 3, 7.5).max(0)
    part = np.floor(across(work) * 8 * (1 - 1e-12))
    inside = np.abs(across(work) * 8 - part - 0.5) < 0.3
    assert (seen[inside & (part < night)] > LIT).all()
    assert (seen[~inside | (part >= night)] == 0).all()


def test_without_a_value_from_outside_the_first_candle_is_lit():
    plain, first = project("candles"), project("candles", candles=1)
    assert (light(plain, 2) == light(first, 2)).all()


@pytest.mark.parametrize("second", range(10))
def test_each_second_a_bar_goes_out(second):
    work = project("countdown")
    # The spark of the burst begins to rise at 9.1 s.
    seen = light(work, second, second + 0.05)
    part = np.floor(across(work) * 10 * (1 - 1e-12))
    inside = np.abs(across(work) * 10 - part - 0.5) < 0.4
    assert (seen[:, inside & (part >= second)] > LIT).all()
    assert (seen[:, ~inside | (part < second)] == 0).all()


def test_at_zero_the_sky_bursts_and_it_ends_dark():
    work = project("countdown")
    before, burst, end = light(work, 9.05, 10.4, 15.97)
    assert (before > LIT).mean() < 0.11  # the last of ten bars
    assert (burst > LIT).mean() > 0.3
    assert end.max() < LIT


def test_on_each_beat_the_next_edge_lights():
    """128 beats a minute: beat b begins at b × 60/128 s, and its edge alone is lit."""
    work = project("beat-edges")
    edge = work.site.pixels.edge
    order = list(dict.fromkeys(edge[edge >= 0].tolist()))
    beat = 60 / 128
    assert len(order) == 8  # the edges that the two lines of the house run along
    for number in range(32):
        for moment in (number * beat, number * beat + 0.4):
            (seen,) = light(work, moment)
            assert set(edge[seen > LIT].tolist()) == {order[number % 8]}, (number, moment)
            assert (seen[edge == order[number % 8]] > LIT).all()
    assert work.show.notes == ()


def test_the_sun_rises_for_twenty_minutes_in_one_colour():
    work = project("sunrise")
    moments = np.linspace(0, work.show.frames - 1, 13).round().astype(int)
    frames = np.concatenate([render_block(work.plan, m, m + 1) for m in moments])
    assert np.ptp(frames, axis=1).max() < 1e-6  # all of the house alike
    level = frames[:, 0].sum(-1)
    assert (np.diff(level) > 0).all()
    # By these dies' white, which is less than full in green and blue.
    red, _, blue = (frames[:, 0] / work.plan.balance).T
    assert red[6] > 3 * blue[6]  # red at ten minutes
    assert blue[-1] > 0.5 * red[-1]  # daylight at the end


def test_rain_grows_stronger_over_a_minute():
    work = project("growing-rain")
    wet = [
        (np.concatenate(list(render(work.plan, 30 * s, 30 * s + 60))).max(-1) > LIT).mean()
        for s in (0, 15, 30, 45, 58)
    ]
    assert wet[0] < 0.08
    assert wet[-1] > 8 * wet[0]
    assert (np.diff(wet) > 0).all()


def test_the_almanac_counts_the_nights():
    almanac = load_almanac(FOLDER / "almanac.toml")
    seen = []
    for day in range(1, 15):
        pieces, _ = almanac.evening(date(2026, 12, day))
        seen += [dict(p.values)["candles"] for p in pieces if p.show.name == "candles.toml"]
    assert sorted(set(seen)) == list(range(1, 9))
