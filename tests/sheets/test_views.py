"""Elevations: what a wall hides is not drawn, and views show what faces them."""

import re
from itertools import combinations

import numpy as np
import pytest

from lumenmap.drawing.canvas import Dot, Stroke, TextLine
from lumenmap.sheets.plans.elevations import elevations, one_by_one, pack
from lumenmap.sheets.plans.mapping import mapping
from lumenmap.sheets.plans.panel import clip
from lumenmap.sheets.plans.views import VIEWS, outlines, visible
from lumenmap.site import Site

FOOT = 0.3048
FRONT = next(v for v in VIEWS if v.name == "front")


def test_views_are_right_handed_and_look_at_the_house():
    for view in VIEWS:
        assert np.cross(view.right, view.up) == pytest.approx(view.viewer)
    assert FRONT.flat(np.array([1.0, 2.0, 3.0])) == pytest.approx([1, 3])


def test_the_front_wall_hides_what_is_behind_it(load):
    house = load()
    points = np.array([[12, -3, 5], [12, 3, 5], [12, 60, 5], [-8, 60, 5], [12, 60, 50]]) * FOOT
    assert visible(points, FRONT, house.faces).tolist() == [True, False, False, True, True]


def test_no_face_hides_its_own_rim(load):
    house = load()
    rim = house.edges["main/rake-left"].points
    along = rim[0] + np.linspace(0, 1, 50)[:, None] * (rim[1] - rim[0])
    assert visible(along, FRONT, house.faces).all()


def test_pixels_on_a_post_are_in_sight_from_the_front(load):
    """They run up its face, where a rail hangs, and not inside the timber."""
    porch = '[[mass]]\nname = "porch"\nroof = "shed"\nslope = "3/12"\nwalls = false\n'
    house = load(add=porch + "width = 12\ndepth = 6\neave = 8\nposition = [6, -6]\n")
    for side in ("left", "right"):
        foot, top = house.edges[f"porch/post-front-{side}"].points
        along = foot + np.linspace(0.05, 0.9, 20)[:, None] * (top - foot)
        assert visible(along, FRONT, house.faces).all(), side


def test_the_outline_of_a_gable_front(load):
    """Widest line: the eaves' rim at 26 ft; highest point: the ridge at 9 + 8/12 x 13 ft."""
    house = load()
    lines = np.concatenate(outlines(house, FRONT)) / FOOT
    assert lines[:, 0].min() == pytest.approx(-1, abs=1e-6)
    assert lines[:, 0].max() == pytest.approx(25, abs=1e-6)
    assert lines[:, 1].max() == pytest.approx(9 + 8 / 12 * 13, abs=1e-6)
    assert lines[:, 1].min() == pytest.approx(0, abs=1e-6)


def test_views_fit_the_page():
    sizes = [(14.0, 8.0), (14.0, 12.0), (9.0, 8.0)]
    scale, positions = pack(sizes, (396, 220))
    assert scale > 5
    boxes = [
        (x, y, x + w * scale, y + h * scale)
        for (x, y), (w, h) in zip(positions, sizes, strict=True)
    ]
    for i, a in enumerate(boxes):
        assert a[0] >= 0 and a[1] >= 0 and a[2] <= 396 and a[3] <= 220
        for b in boxes[:i]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_each_edge_is_told_by_a_view(examples):
    from lumenmap.sheets.plans.elevations import _panels

    for name in ("alder-cottage", "marlow-bend", "tannery-row", "kelder-studio"):
        pixel_map = mapping(examples / name / "house.toml")
        panels = [p for p in _panels(pixel_map.site) if p.view.name != "plan"]
        shown = set().union(
            *({int(e) for e in pixel_map.site.pixels.edge[p.shown]} for p in panels)
        )
        assert shown == {int(e) for e in pixel_map.site.pixels.edge if e >= 0}, name


@pytest.mark.parametrize("house", ["alder-cottage", "marlow-bend", "tannery-row"])
def test_jumpers_are_lettered_off_the_pixels(examples, house):
    """On the map and on the pages of the sheets: what is written stands on no pixel."""
    scene = Site.read(examples / house / "house.toml")
    for page in (elevations(scene), *one_by_one(scene, (297.0, 210.0)).values()):
        dots = np.array([m.centre for m in page.marks if isinstance(m, Dot) and m.radius < 1])
        for words in (m for m in page.marks if isinstance(m, TextLine)):
            if words.text.startswith("jumper"):
                x, y = words.at
                half = 0.25 * words.style.size * len(words.text)
                near = (
                    (abs(dots[:, 0] - x) < half)
                    & (dots[:, 1] < y)
                    & (dots[:, 1] > y - words.style.size)
                )
                assert not near.any(), words.text


def test_pages_come_closer_where_pixels_fill_a_small_part(examples):
    scene = Site.read(examples / "tannery-row" / "house.toml")
    scales = {}
    for page in one_by_one(scene, (297.0, 210.0)).values():
        text = " ".join(m.text for m in page.marks if isinstance(m, TextLine))
        title = next(t for t in ("Front", "Plan", "Right side", "Left side") if t in text)
        scales[title] = int(re.search(r"scale about 1:(\d+)", text)[1])
        assert "the part with pixels" in text
        lines = np.concatenate([np.array(m.points) for m in page.marks if isinstance(m, Stroke)])
        assert lines.min() >= 11.9 and (lines.max(0) <= [297 - 11.9, 210 - 11.9]).all()
    assert max(scales.values()) < 70  # the whole house stands on such a page at about 1:73


def test_numbers_are_as_far_apart_on_paper_as_they_need(examples):
    """Holes 4 in apart on a page of A5: every 50th pixel is numbered, and the ends of runs."""
    site = Site.read(examples / "alder-cottage" / "house.toml")
    page = elevations(site, (210.0, 148.0))
    texts = [m.text for m in page.marks if isinstance(m, TextLine)]
    scale = int(re.search(r"scale about 1:(\d+)", " ".join(texts))[1])
    assert 20 * 101.6 / scale < 8 < 50 * 101.6 / scale  # 50 is far enough, 20 not
    ends = {n for w in site.line_layouts for r in w.runs for n in (r.first + 1, r.first + r.count)}
    numbers = {int(t) for t in texts if t.isdigit()}
    assert {100, 150} <= numbers
    assert all(n % 50 == 0 for n in numbers - ends)


@pytest.mark.parametrize(
    ("line", "left"),
    [
        ([[-1, 0.5], [2, 0.5]], [[0, 0.5], [1, 0.5]]),
        ([[0.2, 3], [0.2, 0.4]], [[0.2, 1], [0.2, 0.4]]),
        ([[-1, -1], [3, 3]], [[0, 0], [1, 1]]),
        ([[-1, 2], [2, 2]], None),
        ([[-1, 0.5], [0.5, 3]], None),
        ([[0.1, 0.1], [0.9, 0.2]], [[0.1, 0.1], [0.9, 0.2]]),
    ],
)
def test_lines_are_cut_at_the_box(line, left):
    got = clip(np.array(line, float), np.zeros(2), np.ones(2))
    assert (got is None) if left is None else got == pytest.approx(np.array(left, float))


MEETING = """
[house]
name = "Hazel Yard"
unit = "m"
[[mass]]
name = "main"
ridge = "across"
width = 9.4
depth = 8
eave = 5.4
slope = "40 deg"
overhang = 0.4
[rail]
length = 2
hole_spacing = "80 mm"
[pixel]
kind = "ws2811-12v"
[[line]]
name = "eave"
path = ["main/eave-front"]
[[line]]
name = "left gable"
path = ["main/rake-left-back", "main/rake-left-front"]
[[line]]
name = "ridge"
path = ["main/ridge"]
"""


def test_names_of_lines_that_meet_at_a_corner_lie_apart(tmp_path):
    """The end of one was written over the start of another, and over the plan's title."""
    (tmp_path / "house.toml").write_text(MEETING)
    page = elevations(Site.read(tmp_path / "house.toml"), (297, 210))
    boxes = []
    for mark in page.marks:
        if isinstance(mark, TextLine):
            (x, y), size = mark.at, mark.style.size
            wide = 0.45 * size * len(mark.text)
            left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[mark.style.anchor] * wide
            boxes.append((mark.text, left, y - 0.7 * size, left + wide, y))
    assert {"left gable end", "eave start"} <= {text for text, *_ in boxes}
    for a, b in combinations(boxes, 2):
        assert a[1] >= b[3] or b[1] >= a[3] or a[2] >= b[4] or b[2] >= a[4], (a, b)
