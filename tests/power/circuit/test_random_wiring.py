"""A hundred houses drawn at random, with every part, against an independent calculation."""

from collections import Counter

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from lumenmap.power.circuit.undervoltage import solve_steady_state
from lumenmap.power.limits.parts import PARTS
from lumenmap.site import Site
from tests.power.circuit.random_houses import random_house
from tests.power.references.budgets import Laid, independent_budgets

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
            missing=sum(f.code == "supplies-joined" for f in site.verdict.dangers),
            connectors=house.string.contact_ohms > 0 and house.string.pixels is not None,
            spaced=house.string.spacing is not None,
        )
    assert all(count >= 10 for count in seen.values()) and len(seen) == 7, seen


def draw(volts, codes, kind):
    """A of each pixel and its slope, at V (N,): the model of `lumenmap help wiring`, read again."""
    off = np.array(kind.off_volts)
    full = off + kind.min_volts - off.max()
    amps = codes / 255 * np.array(kind.channel_ma) / 1000
    part = (volts[:, None] - off) / (full - off)
    slope = np.where((part > 0) & (part < 1), amps / (full - off), 0)
    low = off.min()
    idle, rising = kind.idle_ma / 1000, (volts > 0) & (volts < low)
    total = (amps * np.clip(part, 0, 1)).sum(axis=1) + idle * np.clip(volts / low, 0, 1)
    return total, slope.sum(axis=1) + rising * idle / low


def by_newton(site, codes):
    """V across each pixel, by modified nodal analysis and damped Newton steps (scipy's sparse LU)."""
    laid = Laid(site)
    house, mesh, kind = site.house, laid.mesh, site.pixels.kind
    fed = {f.supply for f in laid.feeds} | {t.supply for t in house.trunks}
    used = [s for s in house.supplies if s.name in fed]
    poles = [laid.supply(s.name) for s in used]
    nodes, given = len(mesh.index), np.zeros(len(mesh.index) + len(used))
    entries = []
    for a, b, g in mesh.branches:
        entries += [(a, a, g), (b, b, g), (a, b, -g), (b, a, -g)]
    for k, (supply, (plus, minus)) in enumerate(zip(used, poles, strict=True)):
        given[nodes + k] = supply.volts
        for node, sign in ((plus, 1.0), (minus, -1.0)):
            entries += [(node, nodes + k, sign), (nodes + k, node, sign)]
    rows, columns, values = zip(*entries, strict=True)
    size = len(given)
    plain = coo_matrix((values, (rows, columns)), shape=(size, size)).tocsr()
    _, part = connected_components(plain, directed=False)
    grounds = np.unique(part, return_index=True)[1]
    plain = plain + coo_matrix((np.ones(len(grounds)), (grounds, grounds)), shape=(size, size))

    def away(x):
        amps, slope = draw(x[laid.plus] - x[laid.minus], codes, kind)
        flow = np.bincount(laid.plus, amps, size) - np.bincount(laid.minus, amps, size)
        return plain @ x + flow - given, slope

    x = splu(plain.tocsc()).solve(given)
    for _ in range(100):
        missing, slope = away(x)
        if np.abs(missing).max() < 1e-8:
            break
        p, m = laid.plus, laid.minus
        pairs = np.concatenate([p, m, p, m]), np.concatenate([p, m, m, p])
        bends = coo_matrix((np.concatenate([slope, slope, -slope, -slope]), pairs), (size, size))
        step, part = splu((plain + bends).tocsc()).solve(missing), 1.0
        while part > 1e-6 and np.abs(away(x - part * step)[0]).sum() > np.abs(missing).sum():
            part /= 2
        x = x - part * step
    assert np.abs(away(x)[0]).max() < 1e-8  # A; 1e6 siemens leave no more digits
    return x[laid.plus] - x[laid.minus]


def test_their_volts_solved_twice_agree(drawn):
    """A frame of each third house, of full white or of chance; many with too few volts for full light."""
    short = 0
    for seed in HOUSES[::3]:
        site = drawn(seed)
        kind, rng = site.pixels.kind, np.random.default_rng(seed)
        codes = np.full((len(site.pixels), kind.channels), 255, np.uint8)
        if seed % 2:
            codes = rng.integers(0, 256, codes.shape, np.uint8)
        got = solve_steady_state(site.wiring.network, codes[None], kind)
        expected = by_newton(site, codes)
        assert np.abs(got.at_pixels[0] - expected).max() < 1e-6, seed
        assert np.abs(got.amps[0] - draw(expected, codes, kind)[0]).max() < 1e-6, seed
        short += bool((expected < kind.min_volts).any())
    assert 4 < short < 30
