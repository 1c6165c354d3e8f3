"""A hundred houses drawn at random, with every part, against an independent calculation."""

from collections import Counter

import numpy as np
import pytest

from lumenmap.power.limits.parts import PARTS
from lumenmap.site import Site
from tests.power.circuit.random_houses import random_house
from tests.power.references.budgets import independent_budgets

HOUSES = range(100)


@pytest.fixture
def drawn(tmp_path):
    def made(seed):
        file = tmp_path / f"{seed}.toml"
        file.write_text(random_house(seed))
        return Site.read(file)

    return made


def test_their_budgets_worked_out_twice_agree(drawn):
    """Modified nodal analysis by scipy's sparse LU: names, limits and every share in 4096ths."""
    seen = Counter()
    for seed in HOUSES:
        site = drawn(seed)
        house, held = site.house, site.budgets
        rows = (held.share * PARTS).astype(np.int64)
        found = list(zip(held.names, held.kinds, held.amps.round(9), map(bytes, rows), strict=True))
        expected = [
            (b.name, b.kind, round(b.limit, 9), bytes(b.parts)) for b in independent_budgets(site)
        ]
        assert sorted(found) == sorted(expected), seed
        seen.update(
            taps=len(house.taps),
            ties=sum(len(b.ties) for b in house.buses),
            fused=sum(b.tie_fuse is not None for b in house.buses),
            cuts=sum(len(x.cuts) for x in house.lines),
            missing=len(site.wiring.missing_cuts),
            connectors=house.string.contact_ohms > 0 and house.string.pixels is not None,
            spaced=house.string.spacing is not None,
        )
    assert all(count >= 10 for count in seen.values()) and len(seen) == 7, seen
