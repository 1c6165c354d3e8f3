"""Prices in the house file, and what they stand for."""

import pytest

from lumenmap.sheets.buying import _price
from lumenmap.sheets.items import Item


@pytest.mark.parametrize("given", ["12 AWG", "12 AWG stranded"])
def test_a_gauge_stands_for_its_stranded_wire_too(given):
    for name in ("12 AWG", "12 AWG stranded"):
        assert _price(Item("pair", 3, "ft", 0, name), {given: 1.35}) == 1.35
    assert _price(Item("pair", 3, "ft", 0, "14 AWG stranded"), {given: 1.35}) is None
