"""Ideas that families have, as the example shows play them: what is lit when, in metres."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from lumenmap.jobs.project import load, render

FERN = Path(__file__).resolve().parents[2] / "examples" / "fern-lane"
FT = 0.3048
IDEAS = ["porch-light", "our-windows", "three-bands"]


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
    assert 3 <= len(lines) <= 12


def test_the_porch_is_steady_and_warm_while_the_roof_twinkles():
    """Every pixel on the porch's own three edges, and no other."""
    light, pixels = played("porch-light")
    porch = on(pixels, "porch/rake-left", "porch/eave-front", "porch/rake-right")
    assert (pixels.xyz[porch, 1] < 0.02).all()  # all in front of the wall
    steady = light[:, porch]
    assert np.ptp(steady, axis=0).max() == 0
    assert (steady[0, :, 0] > 2 * steady[0, :, 2]).all()  # more red than blue: warm
    # Each of the others flashes in 20 s, and few at once.
    rest = light[:, ~porch].max(-1)
    assert (np.ptp(rest, axis=0) > 0.2).mean() > 0.95
    assert ((rest > 0.4).mean(axis=1) < 0.35).all()


@pytest.mark.parametrize(
    ("child", "middle", "rgb"),
    [("Ada", 6, (1, 0.376, 0)), ("Ben", 17, (0.013, 0.279, 1)), ("Cleo", 28, (1, 0, 1))],
)
def test_each_childs_colour_is_round_its_own_window(child, middle, rgb):
    """A square of 4 ft round the window, at every moment; CSS colours in linear light."""
    light, pixels = played("our-windows")
    x, _, z = pixels.xyz.T / FT
    square = (np.abs(x - middle) < 2.01) & (z > 10.99) & (z < 15.01) & (pixels.xyz[:, 1] > -0.1)
    assert (square == on(pixels, f"main/{child}")).all()
    assert square.sum() == 64
    assert light[:, square] == pytest.approx(np.broadcast_to(rgb, light[:, square].shape), abs=0.01)
    near = np.abs(light - np.array(rgb)).max(-1) < 0.02
    assert not near[:, ~square].any()


def test_a_flag_in_three_bands_by_height():
    """From the lowest pixel to the highest a third of the height each: blue, white, green."""
    light, pixels = played("three-bands")
    low, high = pixels.xyz[:, 2].min(), pixels.xyz[:, 2].max()
    part = (pixels.xyz[:, 2] - low) / (high - low)
    blue, white, green = (part > 0.68), (part > 0.35) & (part < 0.65), (part < 0.32)
    for frame in light[::20]:
        _, g, b = frame.T
        assert (b[blue] > 3 * g[blue]).all()
        assert np.ptp(frame[white], axis=1).max() < 0.01
        assert (g[green] > 2 * b[green]).all()
    # The folds run: each pixel is bright at times, and dim at others.
    level = light[30:540].max(-1) / light[30:540].max((0, 2))
    assert np.median(level.min(0)) < 0.35
