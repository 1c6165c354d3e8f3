"""Leaves under lamps against facets in every direction, and where shrubs stand."""

import numpy as np
import pytest

from lumenmap.house.reading.load import load_house
from lumenmap.pictures.light.leaves import thrown
from lumenmap.pictures.scene.garden import garden
from lumenmap.pictures.scene.look import Look
from tests.small_house import BARE, edited


@pytest.mark.parametrize("degrees", [0, 30, 60, 90, 120, 150, 180])
def test_leaves_throw_what_facets_in_every_direction_do(degrees):
    """200,000 Lambertian facets that let through as much as they reflect, by the area that is seen.

    A sheet across the light throws 1; shrubs did so from every side, brighter than they are by day.
    """
    facets = np.random.default_rng(7).normal(size=(200_000, 3))
    facets /= np.linalg.norm(facets, axis=1, keepdims=True)
    angle = np.radians(degrees)
    lamp = np.abs(facets[:, 2])
    eye = np.abs(facets @ [np.sin(angle), 0, np.cos(angle)])
    expected = (lamp * eye).mean() / eye.mean()
    assert thrown(np.array([np.cos(angle)]))[0] == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("width", [3, 9, 14, 16])
def test_no_shrub_stands_before_a_door(tmp_path, width):
    """Those of a garage are wide: its shrubs stood before it."""
    door = f"\n[[mass.door]]\nat = 12\nwidth = {width}\nheight = 7\n"
    (tmp_path / "house.toml").write_text(
        edited(BARE, [("overhang = 1\n", f"overhang = 1\n{door}")])
    )
    house = load_house(tmp_path / "house.toml")
    (opening,) = (f.corners[:, 0] for f in house.faces if f.kind == "door")
    shrubs = [s.corners[:, 0] for s in garden(house, Look()) if s.kind == "shrub"]
    assert shrubs or width > 9
    assert not any(x.min() < opening.max() and opening.min() < x.max() for x in shrubs)
