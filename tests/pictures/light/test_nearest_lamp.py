"""Distances from lamps, and the mesh that follows them, against scipy's search tree."""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from lumenmap.pictures.light import nearest_lamp
from lumenmap.pictures.light.mesh import BESIDE, FINE, _grids
from lumenmap.pictures.light.nearest_lamp import distance
from lumenmap.pictures.scene.surface import flat


@pytest.mark.parametrize("at_once", [nearest_lamp.AT_ONCE, 50, 1])
@pytest.mark.parametrize("lamps", [1, 2, 40])
def test_distances_are_those_of_a_search_tree(monkeypatch, lamps, at_once):
    monkeypatch.setattr(nearest_lamp, "AT_ONCE", at_once)
    rng = np.random.default_rng(lamps)
    # A lot may be kilometres from where its plan has its origin.
    away = np.array([4000.0, -2500.0, 3.0])
    points, found = away + 9 * rng.random((300, 3)), away + 9 * rng.random((lamps, 3))
    points[:lamps] = found
    assert distance(points, found) == pytest.approx(cKDTree(found).query(points)[0], abs=1e-5)


def test_without_lamps_everything_is_far_away():
    assert np.isinf(distance(np.zeros((3, 3)), np.zeros((0, 3)))).all()


def test_squares_beside_lamps_are_cut_and_others_arent():
    wall = flat("wall", [(0, 0, 0), (10, 0, 0), (10, 0, 4), (0, 0, 4)], (0.5, 0.5, 0.5))
    assert wall is not None and wall.kind in FINE
    rng = np.random.default_rng(2)
    points = np.stack([10 * rng.random(4000), np.zeros(4000), 4 * rng.random(4000)], 1)
    lamps = np.array([[2.0, 0.05, 1.0], [2.2, 0.05, 1.0], [8.0, 0.05, 3.5]])
    step, far = 0.25, cKDTree(lamps).query(points)[0]
    seen = np.zeros(len(points), int)
    for rows, squares in _grids(wall, step, points, lamps):
        seen[rows] += 1
        level = round(np.log2(step / squares.step))
        # A square's middle is at most half its diagonal from what lies in it.
        slack = step * np.sqrt(0.5)
        reach = [np.inf, BESIDE * step, BESIDE * step / 2, 0]
        assert (far[rows] <= reach[level] + slack).all()
        assert (far[rows] >= reach[level + 1] - slack).all()
    assert (seen == 1).all()
