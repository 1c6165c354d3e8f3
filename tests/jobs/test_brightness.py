"""Brightness acts on light before it is rounded: hues stay, and nothing is lost in the dark."""

import json

import numpy as np
import pytest

from lumenmap.jobs.export import check
from lumenmap.jobs.project import load
from lumenmap.jobs.sending import rendered_frames
from lumenmap.power.account.recheck import recheck

SHOW = """
[show]
house = "house.toml"
fps = 30
length = "1 s"
match_screen = false
[palette.glow]
stops = ["color(srgb-linear 0.08 0.033 0.012)"]
[[cue]]
[[cue.layer]]
effect = "still"
palette = "glow"
"""


@pytest.fixture
def show(tmp_path, examples):
    house = (examples / "alder-cottage" / "house.toml").read_text()
    (tmp_path / "house.toml").write_text(house)
    (tmp_path / "glow.toml").write_text(SHOW)
    return tmp_path / "glow.toml"


@pytest.mark.parametrize("brightness", [1.0, 0.37, 0.1])
def test_a_dimmed_show_keeps_its_colour(show, tmp_path, brightness):
    """Finished codes cut down to 37 % would be 7, 2, 1: 30 % of the blue is gone."""
    frames = rendered_frames(load(show), tmp_path / "out", brightness=brightness)
    lit = frames.codes[0].reshape(len(frames.codes[0]), -1).astype(float)
    order = next(line.order for line in frames.lines)
    due = 255 * brightness * np.array([0.08, 0.033, 0.012])[["RGB".index(x) for x in order]]
    count = frames.lines[0].count
    hidden = (~load(show).site.pixels.lit)[:count]
    assert lit[:count][~hidden].mean(axis=0) == pytest.approx(due, abs=0.06)
    assert frames.brightness == brightness
    side = json.loads((tmp_path / "out" / "frames.json").read_text())
    assert side.get("brightness", 1.0) == brightness
    assert not recheck(tmp_path / "out" / "frames.json", flashes=False).problems


def test_a_slow_fade_in_the_dark_gets_a_note(show):
    text = show.read_text().replace('length = "1 s"', 'length = "60 s"')
    show.write_text(text.replace("[[cue]]", '[[cue]]\nfade_in = "60 s"', 1))
    notes = check(load(show))["notes"]
    assert [n for n in notes if "each pixel is seen to step" in n]
