"""Wire sizes and resistances against published tables, within their rounding."""

import math

import pytest

from lumenmap.core.errors import InputError
from lumenmap.parts.wires import IEC_60228, awg_diameter, wire

FOOT = 0.3048


def rounding(text: str) -> float:
    """Half a unit of the last digit printed."""
    decimals = len(text.partition(".")[2])
    return 0.5 * 10**-decimals * 1.0001


def test_gauges_match_the_published_table_within_its_rounding(table):
    for row in table("awg"):
        size = wire(f"{row['awg']} AWG")
        near = {
            "diameter_in": awg_diameter(int(row["awg"])) / 25.4,
            "area_mm2": size.area,
            "ohm_per_km_20c": size.ohms(1000),
        }
        for key, value in near.items():
            assert abs(value - float(row[key])) <= rounding(row[key]), (row["awg"], key)
        # The handbook rounds its own diameters before it computes: a tenth of a percent.
        assert size.ohms(1000 * FOOT) == pytest.approx(float(row["ohm_per_kft_20c"]), rel=1e-3)
        # Table 8 rounds to three digits and starts from its own 20 °C figures.
        hot = float(row["ohm_per_kft_75c_solid"])
        assert size.ohms(1000 * FOOT, 75) == pytest.approx(hot, rel=5e-3)
        if hot := row["ohm_per_kft_75c_stranded"]:
            lay = wire(f"{row['awg']} AWG stranded").ohms(1000 * FOOT, 75)
            # Half a digit of what is printed, and 0.2 % between the factors of the five sizes.
            assert abs(lay - float(hot)) <= rounding(hot) + 2e-3 * lay


def test_astm_end_points():
    """ASTM B258 [P]: 0000 is 0.4600 in and 36 is 0.0050 in; one step is the 39th root of 92."""
    assert awg_diameter(-3) / 25.4 == pytest.approx(0.46, abs=1e-12)
    assert awg_diameter(36) / 25.4 == pytest.approx(0.005, abs=1e-15)
    assert awg_diameter(15) / awg_diameter(16) == pytest.approx(1.1229322, abs=5e-8)


@pytest.mark.parametrize(
    ("gauge", "celsius", "ohm_per_kft"),
    [(16, 20, 4.016), (18, 75, 7.765), (16, 50, 4.4895), (16, -10, 3.5425)],
)
def test_worked_examples_of_temperature(gauge, celsius, ohm_per_kft):
    """R(T) = R20 (1 + 0.00393 (T - 20)) [P: NBS Handbook 100]; examples recomputed [K]."""
    got = wire(f"{gauge} AWG").ohms(1000 * FOOT, celsius)
    assert got == pytest.approx(ohm_per_kft, rel=2e-4)


def test_stranded_18_awg_cold_and_hot():
    """7.95 ohm/kft at 75 C; at 0 C 6.024 by table 8's own law, 0.00323 a degree at 75 C [M]."""
    size = wire("18 AWG stranded")
    assert size.ohms(1000 * FOOT, 75) == pytest.approx(7.95, abs=0.005)
    cold = 7.95 * (1 + 0.00323 * (0 - 75))
    assert cold == pytest.approx(6.024, abs=5e-4)
    assert size.ohms(1000 * FOOT, 0) == pytest.approx(cold, rel=1e-3)


def test_strands_add_no_copper():
    """The lay makes the path longer: by 2 % in ASTM B8 [M], by up to 2.6 % in table 8 [P]."""
    solid, stranded = wire("14 AWG"), wire("14 AWG stranded")
    assert stranded.area == solid.area
    assert 1.02 < stranded.ohms(1) / solid.ohms(1) < 1.026
    assert "Table 8" in stranded.source and "Table 8" not in solid.source


def test_iec_sizes_are_the_standard_rows(table):
    for row in table("iec60228"):
        for make in ("flexible", "flexible tinned", "solid"):
            size = wire(f"{row['mm2']} mm2 {make}")
            assert size.ohms(1000) == float(row[make])


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("14 AWG", "14 AWG"),
        ("#16 awg", "16 AWG"),
        ("AWG 18", "18 AWG"),
        ("12ga", "12 AWG"),
        ("12 AWG solid", "12 AWG"),
        ("18AWG  Stranded", "18 AWG stranded"),
        ("1.5 mm2", "1.5 mm2"),
        ("2.5mm²", "2.5 mm2"),
        ("0.75 mm2 solid", "0.75 mm2 solid"),
    ],
)
def test_spellings(text, name):
    assert wire(text).name == name


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("14", "isn.t a wire size"),
        ("", "isn.t a wire size"),
        ("99 AWG", "expected 4 AWG to 30 AWG"),
        ("3 mm2", 'no wire size "3 mm2"; wire sizes: 0.5 mm2, 0.75 mm2'),
        ("25 mm2", 'no wire size "25 mm2"; wire sizes:'),  # "did you mean 2.5 mm2?", far too thin
        ("18 AWG strande", 'no make of wire "strande"; did you mean "stranded"'),
        ("1.5 mm2 soild", 'did you mean "solid"'),
        ("thick" * 50, "isn.t a wire size"),
        ("nan mm2", "isn.t a wire size; expected"),
        ("2,5 mm2", 'isn.t a wire size: did you mean "2.5 mm2"\\? expected'),
        ("2,5", 'did you mean "2.5 mm2"'),
        ("3x2.5 mm²", 'did you mean "2.5 mm2"'),
        ("2 x 1,5", 'did you mean "1.5 mm2"'),
        ("0.75mm", 'did you mean "0.75 mm2"'),
        ("4 sq mm", 'did you mean "4 mm2"'),
        ("16", "isn.t a wire size; expected"),  # a gauge, or mm2?
        ("2.7 mm", "isn.t a wire size; expected"),
    ],
)
def test_what_is_no_wire_is_refused(text, says):
    with pytest.raises(InputError, match=says):
        wire(text)


def test_a_thicker_gauge_has_less_resistance():
    sizes = [wire(f"{n} AWG").ohms(1) for n in range(4, 31)]
    assert sizes == sorted(sizes) and all(math.isfinite(s) for s in sizes)


@pytest.mark.parametrize("make", ["flexible", "flexible tinned", "solid"])
def test_thick_iec_wires_go_on_as_the_thinner_rows_do(make):
    """The rows from 4 mm² on are from memory: resistance times size is that of the others.

    What a maximum allows for hardly differs from size to size, and none is below that of pure
    copper, 17.241 ohm mm²/km.
    """
    known, thick, heavy = (
        [size * IEC_60228[make][size] for size in sizes]
        for sizes in ((1.5, 2.5), (4.0, 6.0), (10.0, 16.0))
    )
    assert thick == pytest.approx([sum(known) / 2] * 2, rel=0.02)
    assert heavy == pytest.approx([sum(known) / 2] * 2, rel=0.06)
    assert min(heavy) > 17.241
    assert wire(f"16 mm2 {make}").source.endswith("[M]")
    assert wire(f"6 mm2 {make}").source.endswith("[M]")
    assert wire(f"2.5 mm2 {make}").source.endswith("[P2]")
