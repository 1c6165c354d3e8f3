"""What a house file leaves out is assumed and said, until the file says it."""

import pytest

#: A sentence's beginning, and what in the file takes it away.
SAID = [
    ("The string's wire is assumed to be 18 AWG stranded; ", '[string]\nwire = "18 AWG"'),
    ("The string's wire is assumed to be 18 AWG stranded; ", '[wiring]\nstring = "18 AWG"'),
    ("The string's own wire is assumed to be as long from pixel to", '[string]\nspacing = "4 in"'),
    ("No connectors are counted between strings; ", "[string]\npixels = 50"),
    ("The air round the wires is assumed to be at most 40 C (104", '[wiring]\nambient = "30 C"'),
    ("The wires' insulation is assumed to be for 75 C; ", "[wiring]\ninsulation = 60"),
    ("Two conductors that carry current are counted for a", "[wiring]\nconductors = 4"),
    ("Fuses and their holders are assumed to have no", "[wiring]\ncontact_milliohms = 5"),
]


@pytest.mark.parametrize(("begins", "written"), SAID)
def test_an_assumption_is_said_until_the_file_says_it(load, begins, written):
    def said(add):
        return [a for a in load(add=add).assumptions if a.startswith(begins)]

    (sentence,) = said("")
    assert written.split("\n")[1].split(" = ")[0] in sentence or "[string] wire" in sentence
    assert not said(written)


@pytest.mark.parametrize(
    ("begins", "written"),
    [
        ("A string's tails are assumed to be 6 in long; ", 'tail = "4 in"'),
        (
            "Each contact of a connector is assumed to have 10 milliohms; ",
            "connector_milliohms = 8",
        ),
        ("A connector is assumed to carry what the string's wire", "connector_amps = 3"),
    ],
)
def test_of_strings_with_connectors_more_is_assumed(load, begins, written):
    assert not any(a.startswith(begins) for a in load().assumptions)
    plain = load(add="[string]\npixels = 50\n")
    assert any(a.startswith(begins) for a in plain.assumptions)
    told = load(add=f"[string]\npixels = 50\n{written}\n")
    assert not any(a.startswith(begins) for a in told.assumptions)


@pytest.mark.parametrize(
    ("amps", "gives", "says"),
    [
        (
            "amps = 5",
            5.0,
            'Supply "garage" (5 A): assumed to give this for hours; if it is what the label says',
        ),
        (
            "label_amps = 5",
            4.0,
            'Supply "garage" (4 A): assumed to give this for hours, 80 % of what the label says',
        ),
        ("amps = 5\nlabel_amps = 5", 5.0, ""),
    ],
)
def test_a_supply_gives_80_percent_of_its_label_unless_its_sheet_says_more(load, amps, gives, says):
    """The 125 % rule of NEC 210.20(A) [P] turned round; on supplies common practice, no source."""
    house = load(("amps = 5", amps))
    assert house.supplies[0].amps == pytest.approx(gives)
    said = [a for a in house.assumptions if "Supply" in a]
    assert len(said) == bool(says) and all(a.startswith(says) for a in said)


def test_a_feed_without_length_or_wire_is_told(load):
    says = "of 16 AWG stranded and without length, and so without loss; write wire and length."
    added = '[[feed]]\nsupply = "garage"\nto = "front"\nat = "6 ft"\n'

    def told(add):
        return [a for a in load(add=add).assumptions if "Feed" in a and a.endswith(says)]

    before = told("")
    assert told(f'{added}wire = "14 AWG"\nlength = 0\n') == before
    (once,) = told(added)
    (twice,) = told(added + added.replace("6 ft", "end"))
    assert once != before
    assert once.startswith('Feed 1 (to "front"): ')
    assert twice.startswith('Feeds 1 (to "front") and 2 (to "front"): ')


@pytest.mark.parametrize(
    ("volts", "fuse", "told"), [(36, "fuse = 5", 1), (36, "", 0), (30, "fuse = 5", 0)]
)
def test_blade_fuses_are_for_32_volts(load, volts, fuse, told):
    """ISO 8820-3 blade fuses are of the 32 V d.c. class [P2]."""
    house = load(
        ("volts = 12", "volts = 36"),
        ('kind = "ws2811-12v"', 'kind = "ws2811-12v"\nvolts = 36'),
        add=f'[[supply]]\nname = "high"\nvolts = {volts}\namps = 5\n'
        f'[[feed]]\nsupply = "high"\nto = "front"\nat = "6 ft"\nwire = "14 AWG"\n{fuse}\n',
    )
    says = 'supply "high" (36 V): blade fuses are made for at most 32 V d.c.'
    assert sum(n.startswith(says) for n in house.notes) == told
