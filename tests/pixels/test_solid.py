"""What a mass fills, against convex hulls of the house's own faces (Qhull, through scipy)."""

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from lumenmap.house.masses.filled import TOLERANCE, inside
from lumenmap.house.reading.load import load_house
from tests.small_house import WALL

MASS = (
    WALL
    + """
[[mass]]
name = "m"
width = 7
depth = 5
eave = 2.5
overhang = 0.4
position = [3, -2]
rotate = 25
base = 0.3
"""
)
FORMS = {
    "gable away": 'roof = "gable"\nslope = "8/12"',
    "gable across": 'roof = "gable"\nridge = "across"\nslope = "5/12"',
    "hip": 'roof = "hip"\nslope = "6/12"',
    "shed": 'roof = "shed"\nhigh = "left"\nslope = "3/12"',
    "flat": 'roof = "flat"',
}


def depth(points, corners):
    """Return how deep (m) places are in the convex hull of corners, negative outside."""
    plane = ConvexHull(corners).equations
    return -(points @ plane[:, :3].T + plane[:, 3]).max(1)


@pytest.mark.parametrize("walls", ["true", "false"])
@pytest.mark.parametrize("form", FORMS)
def test_a_mass_fills_the_hulls_of_its_faces(tmp_path, form, walls):
    file = tmp_path / "house.toml"
    file.write_text(MASS + FORMS[form] + f"\nwalls = {walls}\n")
    house = load_house(file)
    faces = {f.name: f.corners for f in house.faces}
    hulls = [
        np.vstack([faces[n], faces[n.replace("roof", "soffit", 1)]])
        for n in faces
        if n.startswith("m/roof")
    ]
    if walls == "true":
        ring = np.vstack([c for n, c in faces.items() if n.startswith("m/wall")])
        peaks = [c for n, c in house.corners.items() if form == "hip" and "peak" in n]
        hulls.append(np.vstack([ring, *peaks]))
    rng = np.random.default_rng(5)
    rim = np.vstack([c for n, c in faces.items() if n.startswith("m/roof")])
    low, high = rim.min(0) - 0.5, rim.max(0) + 0.5
    points = np.vstack(
        [
            rng.uniform([*low[:2], 0.31], high, (4000, 3)),
            # Near the roof, where it matters.
            rng.uniform(low, high, (8000, 3)) * [1, 1, 0]
            + [0, 0, 2.8]
            + rng.uniform(0, 0.4, (8000, 1)) * [0, 0, 1],
        ]
    )
    deep = np.max([depth(points, hull) for hull in hulls], axis=0)
    (mass,) = house.masses
    got = inside(mass, points)
    assert got[deep > TOLERANCE + 1e-6].all()
    assert not got[deep < 1e-6].any()
    assert (deep > TOLERANCE).sum() > 20 and (deep < 0).sum() > 1000


def test_its_own_edges_are_on_it_rather_than_in_it(tmp_path):
    for form in FORMS.values():
        file = tmp_path / "house.toml"
        file.write_text(MASS + form)
        house = load_house(file)
        for edge in house.edges.values():
            if edge.mass:
                places = edge.points[0] + np.linspace(0, 1, 50)[:, None] * np.diff(
                    edge.points, axis=0
                )
                assert not inside(house.masses[0], places).any(), edge.name
