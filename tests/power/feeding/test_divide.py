"""Dividing a line into sections: the cheapest of all divisions, by trying them all."""

import itertools
import random
from types import SimpleNamespace

import pytest

from lumenmap.power.feeding.groundwork.divide import divide
from lumenmap.power.feeding.groundwork.plan import NoPlanError


def priced(costs):
    """Sections that cost what a table says; those it leaves out can't be."""

    def choices(first, last):
        for money in costs.get((first, last), ()):
            yield SimpleNamespace(first=first, last=last, money=money)

    return choices


@pytest.mark.parametrize("seed", range(20))
def test_the_division_is_the_cheapest_of_all(seed):
    chance = random.Random(seed)
    stops = [0, 3, 5, 8, 9, 14, 17]
    stretch = SimpleNamespace(line="x", first=0, last=16, cuts=tuple(stops[1:-1]))
    costs = {
        (a, b - 1): [chance.uniform(1, 9) for _ in range(2)]
        for a, b in itertools.combinations(stops, 2)
        if chance.random() < 0.8
    }
    best = None
    for used in range(len(stops) - 1):
        for inner in itertools.combinations(stops[1:-1], used):
            parts = list(itertools.pairwise([0, *inner, 17]))
            if all((a, b - 1) in costs for a, b in parts):
                money = sum(min(costs[a, b - 1]) for a, b in parts)
                best = money if best is None else min(best, money)
    if best is None:
        with pytest.raises(NoPlanError, match="too few volts or too many amps"):
            divide(stretch, priced(costs))
        return
    found = divide(stretch, priced(costs))
    assert sum(s.money for s in found) == pytest.approx(best)
    assert [s.first for s in found] == [0, *(s.last + 1 for s in found[:-1])]


def test_where_no_section_reaches_is_said():
    stretch = SimpleNamespace(line="eave", first=0, last=9, cuts=(5,))
    with pytest.raises(NoPlanError, match='line "eave" from pixel 6 on'):
        divide(stretch, priced({(0, 4): [1.0]}))
