"""The account's figures, worked by hand for a show one can work by hand."""

import numpy as np
import pytest

from lumenmap.power.account.account import account
from lumenmap.power.limits.budgets import budgets
from lumenmap.power.limits.limit import Limited
from lumenmap.power.report.tally import Tally
from lumenmap.site import Site


def test_figures_by_hand(two_lines):
    """80 pixels, 18.5 mA a channel and 0.7 mA idle: 30 frames of 10 codes, one of 20."""
    house, pixelmap = two_lines
    held = budgets(house, pixelmap)
    codes = np.full((31, 80, 3), 10, np.uint8)
    codes[17] = 20
    amps = held.amps_of(codes)
    tally = Tally(held, 30.0)
    for part in (slice(0, 9), slice(9, 31)):
        tally.add(Limited(codes[part], np.ones(len(codes[part])), amps[part], amps[part]))
    row = tally.figures()[0]
    low, high = (80 * (3 * 0.0185 * c / 255 + 0.0007) for c in (10, 20))
    assert (row.name, row.worst) == ("garage", 17)
    assert row.peak == pytest.approx(high) and row.mean == pytest.approx((30 * low + high) / 31)
    proof = account(Site(house, pixelmap), frames=31, fps=30.0, sha256="ab", rows=tally.figures())
    watts = 12 * row.mean / 0.85
    assert proof.energy.mean_watts == pytest.approx(watts)
    assert proof.energy.loop_wh == pytest.approx(watts * 31 / 30 / 3600)
    assert proof.energy.season_kwh == pytest.approx(watts * 5 * 40 / 1000)
    assert proof.energy.season_cost is None
    text = proof.text()
    assert "17 at 0.57 s" in text and "licensed electrician" in text and "safe" not in text
    assert 'table "planner"' in text and "ASTM B258" in text


def test_a_price_gives_a_cost(homes_of):
    house, pixelmap = homes_of("branches")
    held = budgets(house, pixelmap)
    codes = np.zeros((4, len(pixelmap), 3), np.uint8)
    tally = Tally(held, 30.0)
    amps = held.amps_of(codes)
    tally.add(Limited(codes, np.ones(4), amps, amps))
    proof = account(Site(house, pixelmap), frames=4, fps=30.0, sha256="ab", rows=tally.figures())
    assert proof.energy.season_cost == pytest.approx(proof.energy.season_kwh * 0.14)
    assert "which costs" in proof.text()
