"""The network against closed forms, a general sparse solver, and conservation laws."""

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from lumenmap.parts.wires import wire
from lumenmap.power.circuit.circuit import Circuit
from lumenmap.power.circuit.network import Network

FOOT = 0.3048


def drop(network, n, amps, volts=5.0):
    return volts - network.at_loads(network.solve(np.full((1, n), amps))).min()


N, AMPS = 50, 0.060
R = 2 * wire("16 AWG").ohms(10 * FOOT)


@pytest.mark.parametrize(
    ("name", "made", "expected"),
    [
        # Uniformly loaded distributor: I R / 2 and I R / 8 [P: "Voltage drop calculations"];
        # the discrete forms are computed [K].
        ("half a pitch in", {"n": N}, N * AMPS * R / 2),
        ("a pitch in", {"n": N, "first": 1}, AMPS * R / N * N * (N + 1) / 2),
        ("first at the feed", {"n": N, "segments": N - 1, "first": 1e-9}, N * AMPS * R / 2),
        ("both ends, even", {"n": N, "feeds": ("start", "end")}, N * AMPS * R / 8),
        ("both ends, odd", {"n": 51, "feeds": ("start", "end")}, AMPS * R / 51 * (51**2 + 1) / 8),
        (
            "both ends, equal segments",
            {"n": N, "feeds": ("start", "end"), "first": 1, "segments": N + 1},
            AMPS * R / (N + 1) * ((N + 1) ** 2 // 4) / 2,
        ),
        ("with a lead-in", {"n": N, "lead": 0.2}, N * AMPS * (R / 2 + 0.2)),
    ],
)
def test_closed_forms(name, made, expected, string):
    n = made.pop("n")
    assert drop(string(n, R, **made), n, AMPS) == pytest.approx(expected, abs=1e-9), name


def test_two_wires_between_the_same_ends_share_the_current():
    """In parallel: 1 / (1 / 0.3 + 1 / 0.6) is 0.2 ohm, whichever way round they are connected."""
    c = Circuit()
    plus, minus = c.source(5.0)
    a = c.node()
    first, second = c.resistor(plus, a, 0.3), c.resistor(a, plus, 0.6)
    c.load(a, minus)
    network = Network(c)
    volts = network.solve(np.array([[1.5]]))
    assert network.at_loads(volts)[0, 0] == pytest.approx(5 - 1.5 * 0.2)
    assert network.flow(volts, [first, second])[0] == pytest.approx([1.0, -0.5])


def test_worked_examples(string):
    """[K], from ASTM B258 resistances at 20 °C; the handbook's four digits."""
    assert pytest.approx(0.08032, rel=2e-4) == R
    assert drop(string(50, R), 50, 0.06) == pytest.approx(0.1205, abs=6e-5)
    assert drop(string(50, R, first=1), 50, 0.06) == pytest.approx(0.1229, abs=6e-5)
    assert drop(string(50, R, feeds=("start", "end")), 50, 0.06) == pytest.approx(0.0301, abs=6e-5)
    hot = 2 * 10 * 4.99 / 1000  # NEC chapter 9 table 8, stranded, 75 °C [P]
    assert drop(string(50, hot), 50, 0.06) == pytest.approx(0.1497, abs=6e-5)
    assert drop(string(50, hot, first=1), 50, 0.06) == pytest.approx(0.1527, abs=6e-5)
    long = 2 * wire("18 AWG").ohms(20 * FOOT)
    assert drop(string(100, long), 100, 0.06) == pytest.approx(0.766, abs=6e-4)
    assert drop(string(100, long, feeds=("start", "end")), 100, 0.06) == pytest.approx(
        0.192, abs=6e-4
    )
    lead = 2 * wire("14 AWG").ohms(15 * FOOT)
    assert 6 * lead == pytest.approx(0.4545, abs=1e-4)
    # A 16 AWG pair in parallel with a 20 AWG string: conductances add.
    both = 1 / (1 / wire("16 AWG").ohms(1) + 1 / wire("20 AWG").ohms(1))
    assert both * 1000 * FOOT == pytest.approx(2.8775, rel=2e-4)
    assert drop(string(50, 2 * both * 10 * FOOT), 50, 0.06) == pytest.approx(0.0863, abs=6e-5)


def test_spans_fed_at_every_joint(string):
    """M equal spans fed at M + 1 points: I R / (8 M^2) [K]; here M = 2, one pixel at each joint."""
    fine = 400  # the continuous form is a limit
    network = string(fine, R, feeds=("start", fine // 2, "end"), first=1e-6)
    assert drop(network, fine, 3.0 / fine) == pytest.approx(3.0 * R / 32, rel=0.01)


def random_circuit(rng):
    """Lines with feeds anywhere, a bus tied here and there, two supplies on one return."""
    c = Circuit()
    supplies = [c.source(12.0), c.source(11.6 + rng.random())]
    for _ in range(rng.integers(1, 3)):
        n = int(rng.integers(3, 25))
        out, back = [c.node() for _ in range(n)], [c.node() for _ in range(n)]
        cut = int(rng.integers(1, n)) if rng.random() < 0.6 else n
        for k in range(n - 1):
            if k + 1 != cut:
                c.resistor(out[k], out[k + 1], rng.uniform(0.001, 0.2))
            c.resistor(back[k], back[k + 1], rng.uniform(0.001, 0.2))
        for k in range(n):
            c.load(out[k], back[k])
        for part, side in enumerate([range(cut), range(cut, n)]):
            for k in (
                rng.choice(side, min(len(side), int(rng.integers(1, 4))), replace=False)
                if side
                else []
            ):
                plus, minus = supplies[part]
                c.resistor(plus, out[k], rng.uniform(0.005, 0.3))
                c.resistor(back[k], minus, rng.uniform(0.005, 0.3))
        if rng.random() < 0.5:
            before = None
            for k in sorted(rng.choice(cut, min(cut, 3), replace=False)):
                tie = c.node()
                c.resistor(tie, out[k], rng.uniform(1e-4, 0.01))
                if before is not None:
                    c.resistor(before, tie, rng.uniform(0.001, 0.05))
                before = tie
    return c


def by_sparse_solver(circuit, amps):
    """The same circuit by modified nodal analysis and a general sparse solver (scipy)."""
    size = len(circuit.root)
    supplies = [(p, circuit.root.index(circuit.root[p])) for p in circuit.plus_terminals]
    entries, right = [], np.zeros(size + len(supplies))
    for a, b, ohms in circuit.resistors:
        entries += [(a, a, 1 / ohms), (b, b, 1 / ohms), (a, b, -1 / ohms), (b, a, -1 / ohms)]
    for (plus, minus), i in zip(circuit.loads, amps, strict=True):
        right[plus] -= i
        right[minus] += i
    for k, (plus, minus) in enumerate(supplies):
        for node, sign in ((plus, 1.0), (minus, -1.0)):
            entries += [(node, size + k, sign), (size + k, node, sign)]
        right[size + k] = circuit.offset[plus]
    used = {t for r in circuit.resistors for t in r[:2]}
    for _, minus in supplies:
        # A supply that feeds nothing, and the ground, are held where they are.
        if minus == supplies[0][1] or minus not in used:
            entries.append((minus, minus, 1.0))
    rows, columns, values = zip(*entries, strict=True)
    matrix = coo_matrix((values, (rows, columns))).tocsc()
    volts = spsolve(matrix, right)
    return np.array([volts[p] - volts[q] for p, q in circuit.loads])


def test_200_random_networks_against_a_general_solver():
    """scipy.sparse.linalg.spsolve is the outside check."""
    rng = np.random.default_rng(7)
    done = 0
    while done < 200:
        circuit = random_circuit(rng)
        network = Network(circuit)
        if network.unfed_loads().any():
            continue
        amps = rng.uniform(0, 0.06, (3, len(circuit.loads)))
        got = network.at_loads(network.solve(amps))
        try:
            expected = np.array([by_sparse_solver(circuit, row) for row in amps])
        except (RuntimeError, Warning):
            continue  # two parts without a common return: the plain matrix is singular
        assert np.abs(got - expected).max() < 1e-6
        assert np.abs(network.load_volts(amps) - got).max() < 1e-9
        done += 1


def test_current_is_neither_made_nor_lost():
    rng = np.random.default_rng(11)
    for _ in range(20):
        circuit = random_circuit(rng)
        network = Network(circuit)
        if network.unfed_loads().any():
            continue
        amps = rng.uniform(0, 0.06, (5, len(circuit.loads)))
        volts = network.solve(amps)
        flow = network.flow(volts, np.arange(len(circuit.resistors)))
        for node in range(circuit.nodes):
            out = flow[:, network.ends[:, 0] == node].sum(1) - flow[
                :, network.ends[:, 1] == node
            ].sum(1)
            load = amps[:, network.plus == node].sum(1) - amps[:, network.minus == node].sum(1)
            assert np.abs(out + load).max() < 1e-9


def dense_shares(network, resistors):
    """The simple way, a row of every load for each resistor: each load alone draws 1 A."""
    loads = len(network.plus)
    volts = network.solve(np.eye(loads)) - network.solve(np.zeros((1, loads)))
    a, b = network.ends[resistors].T
    return ((volts[:, a] - volts[:, b]) * network.siemens[resistors]).T


def test_shares_are_the_currents_they_foretell():
    rng = np.random.default_rng(3)
    for _ in range(20):
        circuit = random_circuit(rng)
        network = Network(circuit)
        if network.unfed_loads().any():
            continue
        every = np.arange(len(circuit.resistors))
        amps = rng.uniform(0, 0.06, (4, len(circuit.loads)))
        none = network.flow(network.solve(np.zeros((1, len(circuit.loads)))), every)
        shares = network.shares(every)
        table = np.array([s.dense(len(circuit.loads)) for s in shares])
        assert np.abs(table - dense_shares(network, every)).max() < 1e-9
        assert all((np.diff(s.loads) > 0).all() for s in shares)
        got = amps @ table.T + none
        assert np.abs(got - network.flow(network.solve(amps), every)).max() < 1e-9


def test_loads_that_hang_on_nothing_are_told():
    c = Circuit()
    plus, minus = c.source(5.0)
    a, b, lost = c.node(), c.node(), c.node()
    c.resistor(plus, a, 0.1)
    c.resistor(b, minus, 0.1)
    c.load(a, b)
    c.load(lost, b)
    assert Network(c).unfed_loads().tolist() == [False, True]


def test_positives_that_meet_are_told():
    c = Circuit()
    (p, m), (r, s) = c.source(5.0), c.source(5.0)
    a, b = c.node(), c.node()
    for plus, minus in ((p, m), (r, s)):
        c.resistor(plus, a, 0.1)
        c.resistor(b, minus, 0.1)
    c.load(a, b)
    assert Network(c).joined_sources() == [(0, 1)]


def test_a_wire_has_resistance():
    c = Circuit()
    with pytest.raises(ValueError, match="expected above 0"):
        c.resistor(c.node(), c.node(), 0.0)
