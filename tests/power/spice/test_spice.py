"""lumenmap's solution against ngspice's, from a netlist that is written by the wiring page alone.

Reference: ngspice (https://ngspice.sourceforge.io, Debian package `ngspice`). More houses:
`python -m tests.power.spice 100`.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from tests.power.circuit.random_houses import random_house
from tests.power.spice.compare import SAME, compare
from tests.power.spice.odd_houses import odd_house

HOUSES = {
    **{f"random {seed}": random_house(seed) for seed in (0, 1, 2, 3)},
    **{f"odd {seed}": odd_house(seed) for seed in range(8)},
}
#: What at least one of the houses has, as a pattern of its file.
PARTS = (
    r"\[\[feed\]\]",
    r"\[\[trunk\]\]",
    r"\[\[tap\]\]",
    r"\[\[bus\]\]",
    r"ties = ",
    r"tie_every = ",
    r"tie_fuse = ",
    r"cuts = ",
    r"jumper = ",
    r"spares = ",
    r"dead = ",
    r'name = "two"',
    r"tail = ",
    r"spacing = ",
    r"connector_milliohms = ",
    r"min_volts = ",
    r"celsius = ",
    r'at = "connector 2"',
    r"AWG stranded",
    r'wire = "\d+ AWG"',
    r"\d mm2",
    r"ws2811-12v",
    r"sk6812-rgbw",
)


@pytest.mark.parametrize("part", PARTS)
def test_the_houses_have_every_part(part: str) -> None:
    assert any(re.search(part, text) for text in HOUSES.values())


@pytest.mark.parametrize("state", [None, 1], ids=["white", "random codes"])
@pytest.mark.parametrize("name", HOUSES)
def test_every_pixel_and_wire_is_as_ngspice_says(
    name: str, state: int | None, tmp_path: Path
) -> None:
    if not shutil.which("ngspice"):
        pytest.skip("ngspice is not installed")
    found = compare(HOUSES[name], state, tmp_path)
    assert max(row.spice for row in found.volts) > 1
    assert max(row.spice for row in found.amps) > 0.01
    assert [row for row in found.volts if row.size >= SAME] == []
    assert [row for row in found.amps if row.size >= SAME] == []
