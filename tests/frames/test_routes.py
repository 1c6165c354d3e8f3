"""Heads on routes, measured on the rendered frames: speeds on every edge, laps, single heads."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from lumenmap.core.errors import InputError
from lumenmap.frames.render import render
from lumenmap.jobs.project import Project, load
from tests.frames.shows import one

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
FT = 0.3048
FPS = 40

#: An invented house round a courtyard of 4 m by 4 m: four flat roofs. The wire runs as it likes.
COURTYARD = """
house = { name = "Invented Court", unit = "m" }
mass = [
  { name = "front", roof = "flat", width = 12, depth = 4, eave = 3 },
  { name = "back", roof = "flat", width = 12, depth = 4, eave = 3, position = [0, 8] },
  { name = "left", roof = "flat", width = 4, depth = 4, eave = 3, position = [0, 4] },
  { name = "right", roof = "flat", width = 4, depth = 4, eave = 3, position = [8, 4] },
]
rail = { hole_spacing = "50 mm", length = 2, remainder = "spread" }
pixel = { kind = "ws2811-12v" }
line = [
  { name = "inside", path = ["left/eave-right", { jumper = 9 }, { edge = "back/eave-front", start = 4, stop = 8, reversed = true }, { jumper = 9 }, "right/eave-left", { jumper = 9 }, { edge = "front/eave-back", start = 4, stop = 8 }] },
  { name = "outside", path = ["right/eave-right", { jumper = 20 }, "front/eave-front", { jumper = 20 }, "back/eave-left", "left/eave-left", "front/eave-left", { jumper = 20 }, "front/eave-right", { jumper = 20 }, "back/eave-right", "back/eave-back"] },
]
supply = [{ name = "one", volts = 12, amps = 60 }]
feed = [
  { supply = "one", to = "inside", wire = "2.5 mm2", length = 1, fuse = 20 },
  { supply = "one", to = "outside", wire = "2.5 mm2", length = 1, fuse = 20 },
]
"""
HOUSES = ["alder-cottage", "marlow-bend", "tannery-row", "courtyard"]


def laid(folder: Path, house: str, show: str) -> Project:
    if house == "courtyard":
        (folder / "house.toml").write_text(COURTYARD)
    else:
        shutil.copy(EXAMPLES / house / "house.toml", folder)
    (folder / "show.toml").write_text(show)
    return load(folder / "show.toml")


def light_of(project: Project) -> np.ndarray:
    """(T, N) light of the brightest channel."""
    return np.concatenate(list(render(project.plan))).max(-1)


def arrivals(column: np.ndarray, level: float) -> np.ndarray:
    """When (s) a pixel's light rises through a level, between frames."""
    up = np.flatnonzero((column[:-1] < level) & (column[1:] >= level))
    return (up + (level - column[up]) / (column[up + 1] - column[up])) / FPS


def comet(speed: float, seconds: float, way: str = '"round"', **options: object) -> str:
    # The channels' own light: each of the palette's colours is full in one of them.
    return "[show]\nmatch_screen = false" + one(
        "brightwake",
        round(seconds * FPS) / FPS,
        speed=f'"{speed} ft/s"',
        spacing='"1000 ft"',
        head='"2 ft"',
        tail='"6 ft"',
        way=way,
        **options,
    ).removeprefix("[show]")


@pytest.mark.parametrize("house", HOUSES)
def test_a_head_goes_round_at_the_asked_speed_on_every_edge_and_its_lap_takes_its_time(
    tmp_path, house
):
    """10 ft/s within 0.5 %; the lap is the length of all edges with pixels over the speed."""
    speed = 10 * FT
    pixels = laid(tmp_path, house, comet(10, 1)).site.pixels
    runs = [
        r for layout in laid(tmp_path, house, comet(10, 1)).site.line_layouts for r in layout.runs
    ]
    lap = sum(abs(r.leave - r.enter) for r in runs) / speed
    light = light_of(laid(tmp_path, house, comet(10, 2.2 * lap, palette='"spectrum"')))
    first, twice = np.zeros(len(pixels)), []
    for n in np.flatnonzero(pixels.lit):
        came = arrivals(light[:, n], 0.4)
        first[n] = came[0]
        twice += np.diff(came).tolist()
    assert twice == pytest.approx([lap] * len(twice), rel=0.005)
    assert len(twice) >= pixels.lit.sum()
    for number, name in enumerate(pixels.edge_names):
        on = np.flatnonzero((pixels.edge == number) & pixels.lit)
        if len(on) < 8:
            continue
        order = on[np.argsort(pixels.along_edge[on])]
        took = first[order] % lap
        took = np.unwrap(took, period=lap)  # the lap may begin on this edge
        slope = np.polyfit(pixels.along_edge[order], took, 1)[0]
        assert 1 / abs(slope) == pytest.approx(speed, rel=0.005), name


@pytest.mark.parametrize("palette", ["one", "spectrum", "nine-nights"])
@pytest.mark.parametrize("house", ["alder-cottage", "courtyard"])
def test_one_head_is_one_at_every_moment_whatever_the_palette_holds(tmp_path, house, palette):
    project = laid(tmp_path, house, comet(10, 20, palette=f'"{palette}"'))
    spacing = float(project.site.house.rail.hole_spacing)
    for frame in light_of(project):
        # The head is 2 ft long, and its tail falls below this level within 1 ft 5 in.
        bright = (frame > 0.45 * frame.max()).sum() * spacing / FT
        assert frame.max() > 0.4
        assert 1.9 < bright < 5.1  # never away, and never two


ROUTE = """
[[route]]
name = "gables"
edges = ["wing/rake-left", "wing/rake-right", "porch/rake-left", "porch/rake-right"]
"""


def test_a_route_of_named_edges_runs_each_whichever_way_joins_them(tmp_path):
    """In order, 34 ft 10 in of edges; pixels off the route stay dark; wire and file don't matter."""
    text = comet(8, 6, '"along gables"') + ROUTE
    project = laid(tmp_path, "alder-cottage", text)
    light, pixels = light_of(project), project.site.pixels
    on = np.isin(
        pixels.edge, [pixels.edge_names.index(n) for n in pixels.edge_names if "rake" in n]
    )
    on &= pixels.line == 0
    assert_array_equal(light.max(0) > 0, on)
    walked, before = np.zeros(len(pixels)), 0.0
    for name in ("wing/rake-left", "wing/rake-right", "porch/rake-left", "porch/rake-right"):
        here = pixels.edge == pixels.edge_names.index(name)
        walked[here] = before + pixels.along_edge[here]
        before += pixels.edge_length[here][0]
    came = [arrivals(light[:, n], 0.4) for n in np.flatnonzero(on)]
    seen = [c[0] for c in came]
    # It comes in at the start of the show's time: all but what lay under it then.
    late = np.array(seen) - walked[on] / (8 * FT)
    late = late[walked[on] > 1.0]
    assert np.ptp(late) < 0.03


def test_the_same_route_backwards_with_gaps_and_in_the_house(tmp_path):
    backwards = ROUTE.replace('"wing/rake-left"', '"wing/rake-left reversed"')
    metres = {}
    for name, route in {
        "plain": ROUTE,
        "gaps": ROUTE + "gaps = true\n",
        "closed": ROUTE + "closed = true\ngaps = true\n",
        "backwards": backwards,
    }.items():
        project = laid(tmp_path, "alder-cottage", comet(8, 1, '"along gables"') + route)
        metres[name] = project.plan.tiles[0].cues[0].layers[0].at.routes["along gables"]
    plain, gaps = metres["plain"], metres["gaps"]
    corners = project.site.house.corners
    apart = np.linalg.norm(corners["porch/front-left"] - corners["wing/front-right"])
    back = np.linalg.norm(corners["porch/front-right"] - corners["wing/front-left"])
    assert gaps.whole[0] - plain.whole[0] == pytest.approx(apart)
    assert (gaps.metres - plain.metres).max() == pytest.approx(apart)
    assert metres["closed"].circuit == pytest.approx(gaps.whole[0] + back)
    assert plain.circuit is None
    assert metres["backwards"].metres[0] == pytest.approx(3.43 - plain.metres[0], abs=0.01)
    (tmp_path / "house.toml").write_text((tmp_path / "house.toml").read_text() + ROUTE)
    (tmp_path / "show.toml").write_text(comet(8, 1, '"along gables"'))
    there = load(tmp_path / "show.toml").plan.tiles[0].cues[0].layers[0].at
    assert_array_equal(there.routes["along gables"].metres, plain.metres)


def test_a_list_of_edges_is_a_way(tmp_path):
    listed = '["wing/rake-left", "wing/rake-right", "porch/rake-left", "porch/rake-right"]'
    named = light_of(laid(tmp_path, "alder-cottage", comet(8, 3, '"along gables"') + ROUTE))
    assert_array_equal(light_of(laid(tmp_path, "alder-cottage", comet(8, 3, listed))), named)


def test_cues_of_one_name_follow_their_own_routes(tmp_path):
    """Each lights its own edge, at its own time, and nothing else."""
    cue = """
[[cue]]
name = "run"
start = "{} s"
length = "2 s"
[[cue.layer]]
effect = "chase"
way = ["{}"]
"""
    show = '[show]\nhouse = "house.toml"\nlength = "4 s"\nfps = 40\n'
    text = show + cue.format(0, "wing/rake-left") + cue.format(2, "main/ridge")
    project = laid(tmp_path, "alder-cottage", text)
    light, pixels = light_of(project), project.site.pixels
    for frames, edge in ((slice(0, 80), "wing/rake-left"), (slice(80, 160), "main/ridge")):
        on = pixels.edge == pixels.edge_names.index(edge)
        assert_array_equal(light[frames].max(0) > 0, on)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (comet(8, 1, '"along gabels"') + ROUTE, r'way: no route "gabels"; did you mean "gables"'),
        (comet(8, 1, '"along crown"'), r'no route "crown". Routes are \[\[route\]\] tables'),
        (comet(8, 1, '["main/rigde"]'), r'way item 1: no edge "main/rigde"; did you mean "main/ri'),
        (
            comet(8, 1, '["wing/ridge"]'),
            r'edge "wing/ridge" has no pixels: no \[\[line\]\] follows',
        ),
        (comet(8, 1, '["main/ridge", "main/ridge"]'), 'edge "main/ridge" is there twice'),
        (comet(8, 1, "[]"), r"isn't a list of edges such as"),
        (comet(8, 1, "[3]"), r"isn't a list of edges such as"),
        (
            comet(8, 1, '"along gables"') + ROUTE.replace("porch/rake-left", "porch/rake"),
            r'route "gables", edges item 3: no edge "porch/rake"',
        ),
        (comet(8, 1) + ROUTE.replace('"gables"', '"round"'), 'is named "round"; choose another'),
        (comet(8, 1) + ROUTE + ROUTE, 'route "gables": another route has this name'),
        (comet(8, 1) + '\n[[route]]\nname = "a"\nedges = []', r'route "a", edges.*has 0 edges'),
        (
            comet(8, 1) + '\n[[route]]\nname = "a"\nedges = [{ edge = "x", start = 3, stop = 2 }]',
            r'route "a", edges item 1: its part of the edge ends before it starts',
        ),
        (
            comet(8, 1, '"along a"')
            + '\n[[route]]\nname = "a"\nedges = [{ edge = "main/ridge", start = "90 ft" }]',
            r'edges item 1: its part starts at 90 ft, but edge "main/ridge" is \d+ ft .*long',
        ),
    ],
)
def test_mistakes_in_routes(tmp_path, text, says):
    with pytest.raises(InputError, match=says):
        laid(tmp_path, "alder-cottage", text)


def test_a_houses_route_must_have_its_edges(tmp_path):
    shutil.copy(EXAMPLES / "alder-cottage" / "house.toml", tmp_path)
    house = tmp_path / "house.toml"
    house.write_text(house.read_text() + '[[route]]\nname = "a"\nedges = ["main/rigde"]\n')
    (tmp_path / "show.toml").write_text(comet(8, 1))
    with pytest.raises(InputError, match=r'route "a", edges item 1: no edge "main/rigde"'):
        load(tmp_path / "show.toml")
