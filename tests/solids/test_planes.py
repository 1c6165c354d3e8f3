"""Where polygons cut each other: against trimesh's sections, and the valleys of an L by hand."""

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.house.hull.faces import meetings
from lumenmap.house.reading.load import load_house
from lumenmap.sheets.plans.views import VIEWS, outlines
from lumenmap.solids.planes import SHORTEST, crossing, normal
from tests.small_house import BARE
from tests.solids.test_convex import FOOT, HOUSE, L_WING

CORNERS = st.lists(st.tuples(*[st.integers(-8, 8)] * 3), min_size=3, max_size=3)


def section(corners, other):
    """The part of a triangle in the plane of another, by trimesh: (2, 3) or None."""
    mesh = trimesh.Trimesh(corners, [[0, 1, 2]], process=False)
    found = trimesh.intersections.mesh_plane(mesh, normal(other), other[0])
    return found[0] if len(found) == 1 else None


@given(CORNERS, CORNERS)
def test_two_triangles_share_what_trimesh_says(one, two):
    one, two = np.array(one, float), np.array(two, float)
    areas = [np.linalg.norm(np.cross(t[1] - t[0], t[2] - t[0])) for t in (one, two)]
    if min(areas) < 1e-6 or np.linalg.norm(np.cross(normal(one), normal(two))) < 1e-3:
        return
    # Corners in the other's plane are left out: a section may or may not have them.
    for a, b in ((one, two), (two, one)):
        if np.abs((a - b[0]) @ normal(b)).min() < 1e-6:
            return
    parts = [section(one, two), section(two, one)]
    direction = np.cross(normal(one), normal(two))
    direction /= np.linalg.norm(direction)
    found = crossing(one, two)
    if any(p is None for p in parts):
        assert found is None
        return
    spans = [sorted((p @ direction).tolist()) for p in parts]
    low, high = max(s[0] for s in spans), min(s[1] for s in spans)
    if high - low > 1.01 * SHORTEST:
        assert sorted((found @ direction).tolist()) == pytest.approx([low, high], abs=1e-6)
    elif high - low < 0.99 * SHORTEST:
        assert found is None


@pytest.fixture
def ell(tmp_path):
    """A gable wing in front of a gable house, of one slope and one eave."""
    (tmp_path / "house.toml").write_text(HOUSE.format(wing=L_WING, path='"wing/rake-left"'))
    return load_house(tmp_path / "house.toml")


def test_the_valleys_of_an_ell(ell):
    """By hand: at 45 degrees in plan, from the eaves' corners to where the ridge goes in.

    The eaves meet at x = 3 and 21 ft, y = -1 ft, 9 ft high; the wing's ridge goes in at x = 12,
    y = 8 ft, 15 ft high.
    """
    lines = [np.round(line[np.argsort(line[:, 2])] / FOOT, 4) for _, _, line in meetings(ell)]
    for x in (3, 21):
        valley = np.array([[x, -1, 9], [12, 8, 15]])
        assert any(np.abs(line - valley).max() < 1e-3 for line in lines), x


def test_the_plan_shows_the_valleys_and_nothing_below_them(ell):
    plan = next(v for v in VIEWS if v.name == "plan")
    drawn = [line / FOOT for line in outlines(ell, plan)]
    steep = [
        line
        for line in drawn
        if np.abs(line[0] - line[1]).min() > 1  # neither along nor across
    ]
    assert len(steep) == 2
    for line in steep:
        ends = line[np.argsort(line[:, 1])]
        assert ends[1] == pytest.approx([12, 8], abs=0.2)
        assert min(abs(ends[0][0] - 3), abs(ends[0][0] - 21)) < 0.2


def test_a_house_of_one_mass_has_none(tmp_path):
    (tmp_path / "house.toml").write_text(BARE)
    assert meetings(load_house(tmp_path / "house.toml")) == ()
