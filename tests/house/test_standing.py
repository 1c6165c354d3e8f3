"""A mass whose floor is above the ground stands on something: its own walls, its posts, or a mass.

Nothing that isn't held floats: the houses are invented, the rule is gravity.
"""

import pytest

from lumenmap.core.errors import InputError
from lumenmap.house.reading.load import load_house
from tests.house.six_houses import FRAME

FOOT = 0.3048
MAIN = """
[[mass]]
name = "main"
width = 30
depth = 20
eave = 9
slope = "6/12"
overhang = 1
BASE
[[mass.window]]
at = 8
width = 3
height = 4
sill = 3
"""


def mass(name, **keys):
    """Return a flat-roofed mass as in a house file."""
    rows = {"name": f'"{name}"', "roof": '"flat"', **keys}
    return "\n[[mass]]\n" + "".join(f"{key} = {value}\n" for key, value in rows.items())


def lowest(house, name, kind="wall-front"):
    """Return how far above the ground (ft) a mass's walls or posts begin."""
    (face,) = [f for f in house.faces if f.name == f"{name}/{kind}"]
    return pytest.approx(face.corners[:, 2].min() / FOOT, abs=1e-9)


@pytest.fixture
def house(tmp_path):
    def load(*more, base='"18 in"', main=MAIN):
        file = tmp_path / "house.toml"
        content = main.replace("BASE", f"base = {base}") + "".join(more)
        file.write_text(FRAME.format(name="Raised", path='"main/eave-left"') + content)
        return load_house(file)

    return load


def test_walls_go_down_to_the_ground_and_heights_stay(house):
    raised, level = house(), house(base="0")
    assert lowest(raised, "main") == 0
    assert not [f for f in raised.faces if "underside" in f.name]
    for name, edge in level.edges.items():
        up = raised.edges[name].points - edge.points
        assert up[:, 2] == pytest.approx(1.5 * FOOT), name
    assert raised.notes == level.notes == ()


@pytest.mark.parametrize(
    ("name", "keys", "stands_at"),
    [
        ("wing", {"position": "[30, 0]", "width": 12, "depth": 12, "base": 1.5, "eave": 8}, 0),
        ("step", {"position": "[30, 0]", "width": 12, "depth": 12, "base": 3, "eave": 8}, 0),
        ("tower", {"position": "[5, 5]", "width": 9, "depth": 9, "base": 12, "eave": 12}, 12),
        ("oriel", {"position": "[5, -3]", "width": 6, "depth": 3, "base": 4, "eave": 5}, 4),
        ("jetty", {"position": "[-2, -2]", "width": 34, "depth": 24, "base": 10, "eave": 8}, 10),
        ("shed", {"position": "[60, 0]", "width": 6, "depth": 6, "base": 0.5, "eave": 7}, 0),
    ],
)
def test_what_another_mass_carries_hangs_and_the_rest_stands(house, name, keys, stands_at):
    found = house(mass(name, **keys))
    assert lowest(found, name) == stands_at
    assert bool([f for f in found.faces if f.name == f"{name}/underside"]) == bool(stands_at)


@pytest.mark.parametrize(
    ("name", "keys", "stands_at"),
    [
        ("porch", {"position": "[5, -3]", "width": 12, "depth": 3, "base": 2, "eave": 8}, 0),
        ("canopy", {"position": "[5, -3]", "width": 6, "depth": 3, "base": 8, "eave": 1}, 8),
        ("pergola", {"position": "[5, 5]", "width": 9, "depth": 9, "base": 12, "eave": 8}, 12),
    ],
)
def test_posts_stand_on_the_ground_or_on_a_mass(house, name, keys, stands_at):
    found = house(mass(name, **keys, walls="false"))
    assert lowest(found, name, "post-front-left-0") == stands_at
    foot = found.edges[f"{name}/post-front-left"].points[0, 2]
    assert foot / FOOT == pytest.approx(keys["base"]), "pixels begin at the floor"


def test_windows_stay_above_the_floor(house):
    for base in ("0", '"18 in"'):
        found = house(base=base)
        (window,) = [f for f in found.faces if f.kind == "window"]
        low = window.corners[:, 2].min() - found.masses[0].base
        assert low / FOOT == pytest.approx(3), base


def test_a_floor_eighteen_feet_up_on_nothing_is_pointed_out(house):
    """Inches were meant."""
    assert house(base="18").notes == (
        'mass "main" (18 ft): a floor that high above the ground, and no mass under it; is that '
        "the right unit?",
    )


def test_a_mass_that_cannot_be_read_carries_nothing_and_is_told_alone(house):
    tower = mass("tower", position="[5, 5]", width=9, depth=9, base=12, eave=12)
    wrong = MAIN.replace('slope = "6/12"\n', "")
    with pytest.raises(InputError, match='mass "main", slope: a gable roof needs') as told:
        house(tower, main=wrong)
    assert "tower" not in str(told.value)
