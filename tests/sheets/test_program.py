"""Drilling programs, read back by independent G-code readers."""

import re
import warnings
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.core.units import INCH
from lumenmap.house.rails import Drill
from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import layout_lines
from lumenmap.sheets.rails.families import by_letter
from lumenmap.sheets.rails.program import program, settings
from lumenmap.sheets.rails.rails import Pattern, rails

UNIT = {"in": INCH, "mm": Fraction(1, 1000)}
#: The last place of a word: 1/10,000 in or 1/1000 mm.
PLACE = {"in": 1e-4, "mm": 1e-3}


def drill(units="mm", travel=Fraction(6, 10), spindle=900):
    return Drill(
        units,
        travel,
        Fraction(12, 1000),
        Fraction(10, 1000),
        Fraction(5, 1000),
        Fraction(15, 100),
        spindle,
    )


def by_gcodeparser(text):
    """(command, words) of each block."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from gcodeparser import GcodeParser

        for line in GcodeParser(text).lines:
            yield f"{line.command[0]}{line.command[1]}", line.params


def by_pygcode(text):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pygcode import Line

        for line in text.splitlines():
            if line != "%":
                for code in Line(line).block.gcodes:
                    word = code.word
                    yield (
                        f"{word.letter}{int(word.value)}",
                        {k: float(w.value) for k, w in code.params.items()},
                    )


def drilled(blocks):
    """The X of every G81, setting by setting, and every word that was used."""
    found, seen = [[]], []
    for command, words in blocks:
        seen.append(command)
        if command == "M0":
            found.append([])
        elif command == "G81":
            found[-1].append(words["X"])
    return found, seen


def stops(text):
    return [
        float(s)
        for s in re.findall(r"setting \d+ of \d+: datum end against a stop at X(-?[\d.]+)", text)
    ]


def back(text, reader):
    """Read every hole's place from the datum out of a program's text, in its unit."""
    parts, seen = drilled(reader(text))
    assert len(parts) == len(stops(text))
    return [x - stop for part, stop in zip(parts, stops(text), strict=True) for x in part], seen


@pytest.mark.parametrize("reader", [by_gcodeparser, by_pygcode])
@pytest.mark.parametrize("units", ["in", "mm"])
def test_every_rail_of_the_examples_comes_back_exactly(examples, reader, units):
    for name in ("marlow-bend", "tannery-row"):
        house = load_house(examples / name / "house.toml")
        for kind, same in by_letter(rails(layout_lines(house))).items():
            p = same[0].pattern
            got, seen = back(program(kind, p, drill(units), house.name), reader)
            expected = [float(h / UNIT[units]) for h in p.holes()]
            assert got == pytest.approx(expected, abs=0.51 * PLACE[units])
            assert {"G20" if units == "in" else "G21", "G90", "G80", "M30"} <= set(seen)
            assert ("G21" if units == "in" else "G20") not in seen


lengths = st.fractions(Fraction(1, 10), 3, max_denominator=1000)


@given(
    lengths,
    st.integers(1, 120),
    st.sampled_from(["in", "mm"]),
    st.fractions(Fraction(1, 5), 2, max_denominator=100),
)
def test_any_pattern_comes_back_within_the_machine_s_reach(length, count, units, travel):
    p = Pattern(length, length / count / 2, length / count, count)
    text = program("A", p, drill(units, travel), "a house (with [odd]; signs) № 5 %")
    got, _ = back(text, by_gcodeparser)
    assert got == pytest.approx(
        [float(h / UNIT[units]) for h in p.holes()], abs=0.51 * PLACE[units]
    )
    step = Fraction(1, 16) if units == "in" else Fraction(1)
    for part in settings(p, drill(units, travel)):
        assert (part.stop / UNIT[units] / step).denominator == 1  # stops can be set exactly
        assert all(0 <= h - part.stop <= travel for _, h in part.holes)
    assert text.isascii() and ";" not in text
    assert all(line.count("(") == line.count(")") <= 1 for line in text.splitlines())


def test_the_words_are_the_owner_s_own():
    p = Pattern(Fraction(1), Fraction(1, 20), Fraction(1, 10), 10)
    text = program("A", p, drill(), "House")
    assert "G99 G81 X50.000 Y0.000 Z-10.000 R5.000 F150.000" in text
    assert text.count("M3 S900") == 2 and text.count("M0") == 1
    assert "M3" not in program("A", p, drill(spindle=None), "House").replace("M30", "")
    quiet = text.splitlines()
    assert quiet[0] == quiet[-1] == "%"
    # the spindle stands still while the rail is moved
    assert text.index("M5") < text.index("M0")


def test_a_machine_that_reaches_no_further_than_its_stop_steps():
    p = Pattern(Fraction(1), Fraction(1005, 20000), Fraction(1, 10), 9)
    with pytest.raises(InputError, match="too short to reach the next hole"):
        settings(p, drill(travel=Fraction(1, 10000)))
