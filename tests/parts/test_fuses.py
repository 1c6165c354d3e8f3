"""Ampacity tables, blade fuses and the 125 % rule against published figures."""

import pytest

from lumenmap.core.errors import InputError
from lumenmap.house.supplies import WireDefaults
from lumenmap.parts.ampacity import AMPACITY, ampacity, bundle_factor, heat_factor
from lumenmap.parts.fuses import (
    BLADES,
    class_2_amps,
    continuous_load,
    fuse_for,
    largest_fuse,
)
from lumenmap.parts.wires import wire


def test_ampacity_rows_are_the_published_ones(table):
    rows = table("ampacity")
    for name in rows[0].keys() - {"awg"}:
        there = {int(r["awg"]): float(r[name]) for r in rows if r[name]}
        assert AMPACITY[name].amps == there, name


def test_the_planner_takes_the_smaller_of_two_tables():
    """Common practice, no source: the smaller of fixture wire and small-conductor fuse."""
    fixture, fuse = AMPACITY["fixture-wire"].amps, AMPACITY["small-conductor-fuse"].amps
    for gauge in (18, 16, 14, 12, 10):
        assert AMPACITY["planner"].amps[gauge] == min(fixture[gauge], fuse[gauge])


def test_700_circular_mils_an_ampere():
    """The handbook's rule computed from the gauge's own area [K], within its rounding."""
    for gauge, amps in AMPACITY["700-circular-mils"].amps.items():
        mils = wire(f"{gauge} AWG").area / 25.4**2 * 1e6 * 4 / 3.141592653589793
        assert amps == pytest.approx(mils / 700, rel=0.03)  # two digits are printed


def test_a_size_between_rows_takes_the_thinner_row():
    assert ampacity(wire("15 AWG")) == 8
    assert ampacity(wire("1.5 mm2")) == 8  # between 16 and 15 AWG
    assert ampacity(wire("0.75 mm2")) == 3  # a little less copper than 18 AWG


def test_what_a_table_does_not_say_is_refused():
    with pytest.raises(InputError, match="has no row for 20 AWG; its thinnest wire is 18 AWG"):
        ampacity(wire("20 AWG"), "fixture-wire")
    with pytest.raises(InputError, match='no ampacity table "plannr"; did you mean "planner"'):
        ampacity(wire("20 AWG"), "plannr")


@pytest.mark.parametrize(
    ("air", "at_60", "at_75", "at_90"),
    # NEC23 310.15(B)(1)(1), the warm end of each row: 45 and 55 C [P], the others [M].
    [
        (30, 1.0, 1.0, 1.0),
        (35, 0.91, 0.94, 0.96),
        (40, 0.82, 0.88, 0.91),
        (45, 0.71, 0.82, 0.87),
        (50, 0.58, 0.75, 0.82),
        (55, 0.41, 0.67, 0.76),
    ],
)
def test_warm_air_takes_what_the_code_says(air, at_60, at_75, at_90):
    for insulation, factor in ((60, at_60), (75, at_75), (90, at_90)):
        assert heat_factor(air, insulation) == pytest.approx(factor, abs=0.0051)


def test_cool_air_gives_nothing_more_and_air_as_hot_as_the_insulation_is_refused():
    assert heat_factor(-10, 60) == 1
    with pytest.raises(InputError, match="is 60 C round wire whose insulation is for 60 C"):
        heat_factor(60, 60)


@pytest.mark.parametrize(
    ("conductors", "factor"),
    # NEC23 310.15(C)(1): to 20 [P], from 21 on [M].
    [
        (1, 1),
        (3, 1),
        (4, 0.8),
        (6, 0.8),
        (7, 0.7),
        (9, 0.7),
        (10, 0.5),
        (20, 0.5),
        (21, 0.45),
        (31, 0.4),
        (99, 0.35),
    ],
)
def test_conductors_in_one_pipe_take_what_the_code_says(conductors, factor):
    assert bundle_factor(conductors) == factor


def test_what_a_wire_may_carry_is_the_table_for_heat_and_bundling():
    """18 AWG: 6 A x 0.882 at 40 C and 75 C insulation [K], x 0.8 among four; and worked examples.

    25 A of 310.16's 75 C column x 0.82 at 45 C is 20.5 A [K].
    """
    assert WireDefaults().may_carry(wire("18 AWG")) == 5.29
    assert WireDefaults().may_carry(wire("18 AWG"), 4) == 4.23
    assert WireDefaults(conductors=10).may_carry(wire("18 AWG"), 4) == 2.64
    assert WireDefaults(ambient=30.0).may_carry(wire("18 AWG")) == 6
    hot = WireDefaults(ampacity="building-75C", ambient=45.0, insulation=90.0)
    assert hot.may_carry(wire("12 AWG")) == pytest.approx(20.5, abs=0.1)
    assert "times 0.88 for air of 40 C round insulation for 75 C, and less" in WireDefaults().basis
    assert "times 0.5 for air of 30 C" in WireDefaults(ambient=30.0, conductors=12).basis
    cool = WireDefaults(ampacity="building-60C", insulation=90.0)
    assert cool.may_carry(wire("14 AWG")) == pytest.approx(15 * 0.82, abs=0.1)  # the 60 C column


def test_blades_are_the_standard_ones(table):
    assert {float(r["amps"]): r["colour"] for r in table("blades")} == BLADES


@pytest.mark.parametrize(
    ("pixels", "fuse", "gauge", "protects"),
    # 60 mA a pixel [P: strip product data]; the 125 % rule of NEC 210.20(A) [P]; worked [K].
    [(50, 4, 18, True), (100, 7.5, 18, False), (100, 7.5, 16, True)],
)
def test_worked_examples_of_choosing_a_fuse(pixels, fuse, gauge, protects):
    assert fuse_for(pixels * 0.060) == fuse
    assert (fuse <= ampacity(wire(f"{gauge} AWG"))) is protects


def test_worked_pixels_per_fuse():
    """At 60 mA and 80 % [K]."""
    worked = {5: 66, 7.5: 100, 10: 133, 15: 200, 20: 266, 30: 400}
    assert {a: int(continuous_load(a) / 0.060 + 1e-9) for a in worked} == worked


def test_the_largest_fuse_that_protects():
    assert largest_fuse(6) == 5
    assert largest_fuse(0.9) is None
    assert fuse_for(33) is None
    assert continuous_load(7.5) == 6


def test_class_2_limits():
    """NEC chapter 9 table 11 [M for d.c.]: 5 V and 12 V give 5 A, 24 V gives 4.17 A."""
    assert class_2_amps(5) == class_2_amps(12) == 5
    assert class_2_amps(24) == pytest.approx(4.17, abs=0.005)
    assert class_2_amps(48) is None
    assert int(class_2_amps(5) / 0.060) == 83  # worked [K]
