"""Ways measured on places whose distances are known by hand."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.motion.at import At
from lumenmap.motion.distance import Distance
from lumenmap.motion.ways import PLACES, WAYS, measure, point
from lumenmap.routes.route import Route, Stretch

# Four corners of a plan of 10 m × 6 m, the middle of its front, and its peak in the air.
XYZ = np.array([[0, 0, 3], [10, 0, 3], [10, 6, 3], [0, 6, 3], [5, 0, 3], [5, 3, 7.0]])
N = len(XYZ)
AT = At(
    XYZ,
    np.arange(N) * 4.0,
    np.arange(N) * 1.0,
    np.full(N, 5.0),
    np.tile([0.0, -1, 0], (N, 1)),
    np.full(N, 24.0),
    XYZ.min(0),
    XYZ.max(0),
    {"main/peak": XYZ[5]},
)


@pytest.mark.parametrize(
    ("way", "metres", "whole"),
    [
        ("line", [0, 4, 8, 12, 16, 20], 24),
        ("edge", [0, 1, 2, 3, 4, 5], 5),
        ("edge reversed", [5, 4, 3, 2, 1, 0], 5),
        ("edge outward", [2.5, 1.5, 0.5, 0.5, 1.5, 2.5], 2.5),
        ("edge inward", [0, 1, 2, 2, 1, 0], 2.5),
        ("across", [0, 10, 10, 0, 5, 5], 10),
        ("up", [0, 0, 0, 0, 0, 4], 4),
        ("away", [0, 0, 6, 6, 0, 3], 6),
        ("from main/peak", [np.sqrt(50)] * 4 + [5, 0], np.sqrt(50)),
        ("from bottom left", [0, 10, np.sqrt(136), 6, 5, np.sqrt(50)], np.sqrt(152)),
    ],
)
def test_by_hand(way, metres, whole):
    got = measure(AT, way)
    assert got.metres == pytest.approx(metres, abs=1e-9)
    assert got.whole == pytest.approx(np.full(N, whole))


def test_a_closed_way_has_a_whole_number_of_repeats_and_groups():
    lap = Distance(np.zeros(1), np.full(1, 32.0), 32.0)
    assert lap.fit(5.0) == pytest.approx(32 / 6)
    assert measure(AT, "line").fit(5.0) == measure(AT, "line").group(5.0, 3) == 5.0
    assert lap.group(5.0, 3) == pytest.approx(32 / 6)  # six groups: each of three colours twice
    assert lap.group(8.0, 3) == pytest.approx(32 / 3)  # not four, which three colours can't share
    # Fewer than the colours: as many as were asked for.
    assert [lap.group(100.0, n) for n in (1, 2, 3, 6)] == [32.0] * 4
    assert lap.group(16.0, 5) == 16.0
    # One number and many are worked out apart: halves too are rounded alike.
    each = np.array([[0.5], [2.0], [32 / 4.5], [8.0], [32 / 1.5], [32 / 2.5], [100.0]])
    for colours in (1, 2, 3, 5):
        assert [lap.group(one, colours) for one in each[:, 0].tolist()] == lap.group(each, colours)[
            :, 0
        ].tolist()


def test_routes_are_looked_up():
    crown = Route((Stretch("main/ridge"),))
    laid = Distance(np.arange(6.0), np.full(6, 9.0))
    at = replace(AT, routes={"along crown": laid, crown: laid})
    assert measure(at, "along crown") is measure(at, crown) is laid
    assert measure(at.part([2, 4]), crown).metres.tolist() == [2, 4]
    with pytest.raises(InputError, match='no route "crwn"; did you mean "crown"'):
        measure(at, "along crwn")
    with pytest.raises(InputError, match='no route "round"'):
        measure(AT, "round")


def test_every_way_is_described():
    assert all(WAYS.values())
    for name in PLACES:
        assert (point(AT, name) >= AT.low).all()
        assert (point(AT, name) <= AT.high).all()


@pytest.mark.parametrize(
    ("way", "message"),
    [
        ("acros", 'no way "acros"; did you mean "across"'),
        ("from main/peek", 'no corner "main/peek"; did you mean "main/peak"'),
    ],
)
def test_mistakes(way, message):
    with pytest.raises(InputError, match=message):
        measure(AT, way)
