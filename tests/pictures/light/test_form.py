"""Form factors against closed forms.

Of two equal squares, from memory of Howell's catalogue of configuration factors: opposite ones
(C-11) and ones that share an edge at a right angle (C-14); of a small face to a rectangle parallel
to it, above one corner (B-3).
"""

import numpy as np
import pytest

from lumenmap.pictures.light.form import form_factors

SQUARE = np.array([(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0.0)])


def asked(points, normal, polygon):
    points = np.atleast_2d(np.asarray(points, np.float32))
    normals = np.broadcast_to(np.asarray(normal, np.float32), points.shape)
    corners = np.broadcast_to(np.asarray(polygon, np.float32), (len(points), *np.shape(polygon)))
    return form_factors(points, normals, corners)


def spread(n=40):
    """The middles (n², 2) of small squares that fill the unit square."""
    at = (np.arange(n) + 0.5) / n
    return np.stack(np.meshgrid(at, at), -1).reshape(-1, 2)


def above_corner(a, b, c):
    """A rectangle a by b, c above a small face under its corner and parallel to it (B-3)."""
    x, y = a / c, b / c
    p, q = np.hypot(1, x), np.hypot(1, y)
    return (x / p * np.arctan(y / p) + y / q * np.arctan(x / q)) / (2 * np.pi)


@pytest.mark.parametrize("size", [(1.0, 1.0, 1.0), (0.1, 3.0, 0.5), (20.0, 20.0, 0.1)])
def test_a_rectangle_above_one_of_its_corners(size):
    a, b, c = size
    found = asked((0, 0, -c), (0, 0, 1), SQUARE * (a, b, 1))
    assert found == pytest.approx([above_corner(a, b, c)], rel=1e-3)


def test_opposite_squares_and_squares_at_a_right_angle():
    u, v = spread().T
    level = asked(np.stack([u, v, 0 * u - 1], -1), (0, 0, 1), SQUARE)
    assert level.mean() == pytest.approx(0.1998, abs=2e-4)
    upright = asked(np.stack([0 * u, u, v], -1), (1, 0, 0), SQUARE)
    assert upright.mean() == pytest.approx(0.2000, abs=1e-3)


def test_what_is_behind_a_face_gives_it_nothing():
    """A square that stands half behind counts as its front half does; all behind, not at all."""
    both = SQUARE * (2, 1, 0) + (-1, 2, 0.3)
    front = SQUARE * (1, 1, 0) + (0, 2, 0.3)
    for normal in ((1, 0, 0), np.array([1, 0.0, 0]) @ np.eye(3)):
        assert asked((0, 0, 0), normal, both) == pytest.approx(
            asked((0, 0, 0), normal, front), rel=1e-4
        )
    assert asked((0, 0, 0), (0, 0, -1), both) == pytest.approx([0], abs=1e-6)
    assert asked((0, 0, 0), (1, 0, 0), front[::-1]) == pytest.approx(
        asked((0, 0, 0), (1, 0, 0), front)
    )


def test_slanting_polygons_against_sums_over_small_parts():
    """F = ∫ cos cos' / (π d²) dA over a million spots, also of polygons that are partly behind."""
    rng = np.random.default_rng(3)
    some = 0
    for _ in range(12):
        origin, a, b, normal = rng.normal(size=(4, 3))
        normal /= np.linalg.norm(normal)
        polygon = origin + np.array([-a - b, a - b, a + b, b - a])
        uv = 2 * spread(1000) - 1
        at = origin + uv @ np.stack([a, b])
        across = np.cross(a, b)
        far = np.linalg.norm(at, axis=1)
        parts = np.maximum(at @ normal, 0) * np.abs(at @ across) * 4 / (np.pi * far**4)
        true = parts.mean()
        some += true > 0.01
        assert asked((0, 0, 0), normal, polygon)[0] == pytest.approx(true, rel=5e-3, abs=1e-5)
    assert some > 3
