"""The cheapest plan against brute force: every cut, joint and gauge, by a solver of its own.

Not one line of the planner or of the package's solver is used to judge a choice: the circuit is
written down as dense nodal equations (Kirchhoff's laws), the wire by the law of ASTM B258.
"""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from lumenmap.house.model import Buying
from lumenmap.house.supplies import StringMake, WireDefaults
from lumenmap.power.feeding.choose import cheapest, make
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.site import Site

#: Ampacities of the planner's table, and prices of a metre, all invented but the amps.
AMPS = {20: 3.0, 18: 6.0, 16: 8.0, 14: 15.0, 12: 20.0, 10: 28.0}
PRICE = {20: 0.2, 18: 0.3, 16: 0.45, 14: 0.7, 12: 1.1, 10: 1.7}
FUSES = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30)
FUSE, CONNECTOR = 2.5, 1.0
#: (pixels in a string, strings, m from pixel to pixel, m of lead to the start, mA of a channel)
HOUSES = [
    (3, 3, 1.0, 2.0, 20.0),
    (3, 3, 2.0, 1.0, 20.0),
    (3, 3, 0.5, 6.0, 60.0),
    (4, 2, 1.5, 3.0, 40.0),
    (2, 3, 3.0, 2.0, 40.0),
    (3, 2, 2.5, 5.0, 60.0),
    (2, 4, 1.0, 8.0, 50.0),
    (4, 2, 0.3, 12.0, 150.0),
    (3, 3, 0.8, 4.0, 90.0),
    (2, 3, 0.2, 3.0, 400.0),
]


def ohms(gauge, metres):
    """One stranded conductor at 20 C: ASTM B258, 17.241 ohm mm2/km, 1.0234 for the strands."""
    area = math.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2
    return 17.241 / area * 1.0234 * metres / 1000


class Line:
    """One line of strings, fed by any set of leads and cut anywhere, as nodal equations."""

    def __init__(self, size, strings, apart, lead, milliamps):
        self.n, self.apart = size * strings, apart
        self.each = (3 * milliamps + 0.4) / 1000
        # Places along the wire: pixels (k + 1/2) apart, connectors between strings and at the ends.
        self.joints = [size * k * apart for k in range(strings + 1)]
        self.x = sorted([(k + 0.5) * apart for k in range(self.n)] + self.joints)
        self.lead = [lead + x for x in self.joints]

    def holds(self, leads, cuts, floor, contact=0.01, string=18):
        """Whether leads {joint: gauge} and cuts (pixels before them) hold at full white."""
        x, count = self.x, len(self.x)
        g = np.zeros((2 * count, 2 * count))
        put = np.zeros(2 * count)
        links = []
        for i, (a, b) in enumerate(itertools.pairwise(x)):
            inner = [j for j in self.joints[1:-1] if j in (a, b)]
            r = ohms(string, b - a) + contact / 2 * len(inner)
            for side in (0, 1):
                # A cut after pixel k takes away the stretch that begins at that pixel.
                if side == 0 and any(abs(a - (k - 0.5) * self.apart) < 1e-9 for k in cuts):
                    continue
                links.append((side * count + i, side * count + i + 1, 1 / r))
        for a, b, s in links:
            g[a, a] += s
            g[b, b] += s
            g[a, b] -= s
            g[b, a] -= s
        ends = []
        for joint, gauge in leads.items():
            k, s = x.index(self.joints[joint]), 1 / (ohms(gauge, self.lead[joint]) + contact)
            for node, volts in ((k, 5.0), (count + k, 0.0)):
                g[node, node] += s
                put[node] += s * volts
                ends.append((node, volts, s, gauge))
        pixels = [x.index((k + 0.5) * self.apart) for k in range(self.n)]
        for k in pixels:
            put[k] -= self.each
            put[count + k] += self.each
        v = np.linalg.solve(g, put)
        if min(v[k] - v[count + k] for k in pixels) < floor - 1e-9:
            return False
        for node, volts, s, gauge in ends:
            amps = abs(v[node] - volts) * s
            if amps > AMPS[gauge] + 1e-9:
                return False
            limit = min(AMPS[gauge], AMPS[string])
            if volts and not any(1.25 * amps <= f + 1e-9 and f <= limit for f in FUSES):
                return False
        return all(abs(v[a] - v[b]) * s <= AMPS[string] + 1e-9 for a, b, s in links)

    def price(self, leads):
        return sum(2 * PRICE[w] * self.lead[j] + FUSE + CONNECTOR for j, w in leads.items())

    def choices(self):
        """Every set of joints with every gauge of each, uncut or each joint in its section."""
        for used in range(1, len(self.joints) + 1):
            for joints in itertools.combinations(range(len(self.joints)), used):
                for gauges in itertools.product(AMPS, repeat=used):
                    yield dict(zip(joints, gauges, strict=True))

    def cuts(self, joints):
        """Every way to cut once between each two joints that are used."""
        # Joint j lies after pixel j * size: a cut after that very pixel still leaves it behind.
        size = self.n // (len(self.joints) - 1)
        spans = [
            range(max(1, a * size + (a > 0)), b * size + 1) for a, b in itertools.pairwise(joints)
        ]
        for cut in itertools.product(*spans):
            if all(k < self.n for k in cut):
                yield cut


def best(line, floor, below):
    """The least price under ``below`` at which anything holds, by trying everything."""
    rows = sorted((c for c in line.choices() if line.price(c) < below), key=line.price)
    for leads in rows:
        if line.holds(leads, (), floor):
            return line.price(leads)
        if any(line.holds(leads, cut, floor) for cut in line.cuts(sorted(leads))):
            return line.price(leads)
    return None


@pytest.mark.parametrize("made", HOUSES)
def test_nothing_that_holds_is_five_percent_cheaper(made, small_map, small_house):
    size, strings, apart, lead, milliamps = made
    pixelmap = small_map(
        (size * strings,), kind="ws2812b", spacing=apart, channel_ma=(milliamps,) * 3
    )
    house = small_house(
        pixelmap,
        [("s", 5.0, 40.0)],
        [("f", "s", "line-0", "start", "14 AWG", lead, 5.0)],
    )
    prices = {f"{g} AWG": p for g, p in PRICE.items()} | {"fuse": FUSE, "connector": CONNECTOR}
    house = replace(
        house,
        string=StringMake(size, None, 0.01, 0.01),
        wire_defaults=WireDefaults("18 AWG stranded", celsius=20.0, ambient=30.0),
        buying=Buying("$", 0.1, prices),
    )
    ground = Ground(Site(house, pixelmap))
    found = cheapest([make(name, ground) for name in ("feeds", "sections", "trunk", "bus")])
    line = Line(*made)
    if found is None:
        assert best(line, ground.floor, math.inf) is None
        return
    plan = found.plan
    if not plan.trunks and not plan.buses:
        names = ["start", *(f"connector {n}" for n in range(2, strings + 1)), "end"]
        leads = {names.index(f.at): int(f.wire.split()[0]) for f in plan.feeds}
        cuts = [int(c.split()[-1]) for _, own in plan.cuts for c in own]
        assert line.price(leads) == pytest.approx(found.bill.money)
        assert line.holds(leads, cuts, ground.floor - 1e-6), "it doesn't hold by its own figures"
    cheaper = best(line, ground.floor, found.bill.money / 1.05)
    assert cheaper is None, (cheaper, found.bill.money, found.plan)
