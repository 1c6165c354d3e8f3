"""Ideas that families have, as the example shows play them: what is lit when, in metres."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from lumenmap.jobs.project import load, render

FERN = Path(__file__).resolve().parents[2] / "examples" / "fern-lane"
FT = 0.3048
IDEAS = ["comet-then-glow", "heart-goes-by", "our-windows", "porch-light", "three-bands"]
FPS = 30


def played(name: str) -> tuple[np.ndarray, object]:
    """(T, N, 3) light of an example show, and its pixels."""
    project = load(FERN / f"{name}.toml")
    return np.concatenate(list(render(project))), project.site.pixels


def on(pixels, *edges: str) -> np.ndarray:
    return np.isin(pixels.edge, [pixels.edge_names.index(edge) for edge in edges])


@pytest.mark.parametrize("name", IDEAS)
def test_an_idea_takes_twelve_lines_beyond_show_and_palettes(name):
    """Lines with something on them, in the tables that say what plays."""
    text = (FERN / f"{name}.toml").read_text()
    assert tomllib.loads(text)["show"]["house"] == "house.toml"
    lines, table = [], ""
    for line in map(str.strip, text.splitlines()):
        table = line if line.startswith("[") and line.endswith("]") else table
        if line and not line.startswith("#") and not table.startswith(("[show]", "[palette")):
            lines.append(line)
    assert 2 <= len(lines) <= 12


def test_the_porch_is_steady_and_warm_while_the_roof_twinkles():
    """Every pixel on the porch's own three edges, and no other."""
    light, pixels = played("porch-light")
    porch = on(pixels, "porch/rake-left", "porch/eave-front", "porch/rake-right")
    assert (pixels.xyz[porch, 1] < 0.16).all()  # none beyond its overhang of 6 in
    steady = light[:, porch]
    assert np.ptp(steady, axis=0).max() == 0
    assert (steady[0, :, 0] > 1.2 * steady[0, :, 2]).all()  # more red than blue: warm
    # Each of the others flashes in 20 s, and few at once.
    rest = light[:, ~porch].max(-1)
    assert (np.ptp(rest, axis=0) > 0.2).mean() > 0.95
    assert ((rest > 0.4).mean(axis=1) < 0.35).all()


@pytest.mark.parametrize(
    ("child", "middle", "order"), [("Ada", 6, "rgb"), ("Ben", 17, "bgr"), ("Cleo", 28, "rbg")]
)
def test_each_childs_colour_is_round_its_own_window(child, middle, order):
    """A square of 4 ft round the window, in one colour at every moment: orange, blue, magenta."""
    light, pixels = played("our-windows")
    x, _, z = pixels.xyz.T / FT
    square = (np.abs(x - middle) < 2.01) & (z > 10.99) & (z < 15.01) & (pixels.xyz[:, 1] > -0.1)
    assert (square == on(pixels, f"main/{child}")).all()
    assert square.sum() == 64
    own = light[0, square][0]
    assert (light[:, square] == own).all()
    most, middling, least = (own["rgb".index(channel)] for channel in order)
    assert most > middling > least
    assert most > 2 * least
    near = np.abs(light - own).max(-1) < 0.02
    assert not near[:, ~square].any()


def test_a_flag_in_three_bands_by_height():
    """From the lowest pixel to the highest a third of the height each: blue, white, green."""
    light, pixels = played("three-bands")
    low, high = pixels.xyz[:, 2].min(), pixels.xyz[:, 2].max()
    part = (pixels.xyz[:, 2] - low) / (high - low)
    blue, white, green = (part > 0.68), (part > 0.35) & (part < 0.65), (part < 0.32)
    for frame in light[::20]:
        r, g, b = frame.T
        assert (b[blue] > 2 * np.maximum(r, g)[blue]).all()
        assert (frame[white].min(1) > 0.3 * frame[white].max(1)).all()
        assert (g[green] > 1.5 * np.maximum(r, b)[green]).all()
    # The folds run: each pixel is bright at times, and dim at others.
    level = light[30:540].max(-1) / light[30:540].max((0, 2))
    assert np.median(level.min(0)) < 0.35


#: The way round Fern Lane, by hand: each edge, and whether it is walked from its end.
ROUND = [
    ("main/rake-left", False),
    ("main/rake-right", False),
    ("main/eave-right", False),
    ("main/Cleo", False),
    ("porch/rake-right", True),
    ("porch/eave-front", True),
    ("porch/rake-left", True),
    ("main/Ben", True),
    ("main/Ada", False),
]


def walked(pixels) -> tuple[np.ndarray, float]:
    """Metres from the front left along the edges, and all of them; an edge is as long as it is.

    The porch's left rake begins 4 in from the wall, where nobody sees a pixel.
    """
    metres, before = np.zeros(len(pixels)), 0.0
    for edge, back in ROUND:
        here = on(pixels, edge)
        low = 4 * FT / 12 if edge == "porch/rake-left" else 0.0
        high, along = pixels.edge_length[here][0], pixels.along_edge[here]
        metres[here] = before + (high - along if back else along - low)
        before += high - low
    return metres, before


def test_a_comet_goes_once_round_the_house_and_then_all_glows_up():
    light, pixels = played("comet-then-glow")
    metres, whole = walked(pixels)
    level = light.max(-1)
    for second in np.arange(0.5, 9.9, 0.3):
        frame = level[round(second * FPS)]
        head = metres[frame > 0.7 * frame.max()]
        # One head of 9 in and the first 1 ft 6 in of its tail, at its place in metres: its front
        # glides in over 6.5 in, the 24th part of its tail.
        assert head.max() == pytest.approx(whole * second / 10 - 6.5 * FT / 24, abs=0.12)
        assert np.ptp(head) < 0.75
    early = level[: 10 * FPS]
    half = early.max() / 2
    passes = ((early[1:] >= half) & (early[:-1] < half)).sum(0)
    assert (passes[metres < whole - 0.3] <= 1).all()
    assert (passes[(metres > 0.5) & (metres < whole - 0.3)] == 1).all()
    # All of the house comes up from 10 s to 13 s, and stays.
    assert (level[round(14.5 * FPS)] > 0.5).all()
    up = level[round(10.5 * FPS) : 13 * FPS].mean(1)
    assert (np.diff(up) > 0).all()
    assert np.diff(up).max() < 0.025


def test_a_small_picture_moves_across_at_its_height_and_speed():
    """14 ft wide and 8/9 of that high; it comes in at the left at 0 s, at 3 ft/s."""
    light, pixels = played("heart-goes-by")
    x, _, z = pixels.xyz.T / FT
    low, high = z.min(), z.max()
    middle, half = low + 0.3 * (high - low), 14 * 8 / 9 / 2
    seen = 0
    for second in (3, 5, 6, 9, 12, 13, 15):
        lit = light[second * FPS].max(-1) > 0.02
        left = x.min() - 14 - 14 / 9 + 3 * second  # a pixel of the picture clear of the house
        inside = (x > left - 0.8) & (x < left + 14.8) & (np.abs(z - middle) < half + 0.8)
        assert not lit[~inside].any()
        body = (np.abs(x - left - 7) < 2) & (z > 12.5) & (z < middle)
        assert lit[body].all()
        seen += body.sum()
    assert seen > 20
    assert (light[0].max(-1) > 0).sum() <= 2  # no more than its very edge
