"""Rail materials against published expansion figures."""

import pytest

from lumenmap.core.errors import InputError
from lumenmap.parts.rails import MAX_EXPANSION, SOLAR_GAIN, expansion, rail_material

INCH, FOOT = 0.0254, 0.3048


@pytest.mark.parametrize(
    ("name", "feet", "fahrenheit", "inches", "digits"),
    [
        ("pvc pipe", 10, 60, 0.216, 3),  # 3.0e-5 in/in/F, makers' data for PVC pipe [P]; value [K]
        ("pvc conduit", 10, 60, 0.243, 3),  # NFPA 70 (2023) table 352.44(A): 3.38e-5 [P]; [K]
        ("pvc conduit", 100, 60, 2.43, 2),  # table 352.44(A) itself: 2.43 in a 100 ft [P]
        ("pvc conduit", 40, 80, 1.30, 2),  # a 40 ft glued run over 80 F [K]
    ],
)
def test_growth_is_the_published_one(name, feet, fahrenheit, inches, digits):
    got = expansion(rail_material(name), feet * FOOT, 0, fahrenheit / 1.8) / INCH
    assert round(got, digits) == inches


@pytest.mark.parametrize(("name", "feet"), [("pvc conduit", 10.3), ("pvc pipe", 11.6)])
def test_the_longest_run_that_needs_no_expansion_fitting(name, feet):
    """1/4 in between fixed points (NFPA 70 352.44 [P]) over 60 F: 10.3 ft of conduit [K]."""
    per = expansion(rail_material(name), FOOT, 0, 60 / 1.8)
    assert pytest.approx(feet, abs=0.05) == MAX_EXPANSION / per


def test_sun_adds_thirty_fahrenheit():
    assert pytest.approx(30) == SOLAR_GAIN * 1.8  # a conduit maker's guide [P]


def test_an_unknown_material_names_the_nearest():
    with pytest.raises(InputError, match='no rail material "alumin"; did you mean "aluminium"'):
        rail_material("alumin")
