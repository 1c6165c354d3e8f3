"""Strings, connectors, trunks, taps and ties: drops worked out by hand, on whole house files."""

import re

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.parts.wires import wire
from lumenmap.power.report.analysis import analyse, full_white
from lumenmap.site import Site

FOOT = 0.3048
#: Pixels of 60 mA at any voltage that they get here, nothing when dark.
PIXEL = 'pixel = { kind = "ws2811-12v", channel_ma = [20, 20, 20], idle_ma = 0 }'


@pytest.fixture
def read(tmp_path):
    def made(text):
        file = tmp_path / "house.toml"
        file.write_text(text)
        return Site.read(file)

    return made


def run_of(pixels, feet, string, more, celsius=20):
    """Pixels evenly along some feet, half a spacing from either end."""
    return f"""
house = {{ name = "Run", unit = "ft" }}
rail = {{ length = "40 ft", hole_spacing = {feet / pixels} }}
{PIXEL}
edge = [{{ name = "run", points = [[0, 0, 9], [{feet}, 0, 9]] }}]
line = [{{ name = "run", path = ["run"] }}]
supply = [{{ name = "s", volts = 12, amps = 40 }}]
wiring = {{ celsius = {celsius} }}
string = {string}
{more}
"""


def feed(at="start", rest=""):
    return f'[[feed]]\nsupply = "s"\nto = "run"\nat = "{at}"\nwire = "4 AWG"\n{rest}\n'


def drop(site):
    return 12 - analyse(site, full_white(site.pixels), "").volts.min()


@pytest.mark.parametrize(
    ("pixels", "feet", "size", "places", "celsius", "expected", "within"),
    [
        # A uniformly loaded pair, I R / 2 and I R / 8 [P: "Voltage drop calculations"], [K] with
        # ASTM B258 copper at 20 C; R = 2 x 10 x 4.016 / 1000 = 0.08032 ohm, I = 3 A.
        (50, 10, "16 AWG", ["start"], 20, 0.1205, 6e-5),
        (50, 10, "16 AWG", ["start", "end"], 20, 0.0301, 6e-5),
        (50, 10, "16 AWG", ["middle"], 20, 0.0301, 6e-5),
        (50, 10, "16 AWG", ["start", "middle", "end"], 20, 0.0075, 6e-5),
        # NEC chapter 9 table 8, stranded at 75 C: 4.99 ohm/kft [P], to its printed digits.
        (50, 10, "16 AWG stranded", ["start"], 75, 0.1497, 4e-4),
        (50, 10, "16 AWG stranded", ["start", "end"], 75, 0.0374, 1e-4),
        (100, 20, "18 AWG", ["start"], 20, 0.766, 6e-4),
        (100, 20, "18 AWG", ["start", "end"], 20, 0.192, 6e-4),
    ],
)
def test_handbook_drops(read, pixels, feet, size, places, celsius, expected, within):
    more = "".join(map(feed, places))
    site = read(run_of(pixels, feet, f'{{ wire = "{size}" }}', more, celsius))
    assert drop(site) == pytest.approx(expected, abs=within)


def test_a_lead_in_is_lumped(read):
    """15 ft of 14 AWG with 6 A: 2 x 15 x 2.525 / 1000 x 6 = 0.4545 V on top of the string's [K]."""
    own = feed().replace('"4 AWG"', '"14 AWG"\nlength = 15')
    site = read(run_of(100, 20, '{ wire = "18 AWG" }', own))
    assert drop(site) == pytest.approx(0.4545 + 0.766, abs=6e-4)


def test_a_string_with_longer_wire_drops_more(read):
    """4 in of wire in holes 2 in apart: twice the resistance between pixels, not before the first.

    i r n (n - 1) / 2 between the pixels and i r' n before them [K], with r from pixel to pixel.
    """
    make = '{ wire = "18 AWG", spacing = "4 in" }'
    site = read(run_of(60, 10, make, feed()))
    ohms = 2 * wire("18 AWG").ohms(FOOT / 3)
    first = 2 * wire("18 AWG").ohms(FOOT / 12)
    assert drop(site) == pytest.approx(0.06 * (60 * first + ohms * 60 * 59 / 2), abs=1e-4)


def test_connectors_and_tails_are_in_the_way(read):
    """Three strings of 20: what goes on behind each connector flows over its two contacts.

    The feed's plug carries 60 pixels, the second connector 40, the third 20 [K: Ohm's law].
    Tails of 2 in are no longer than the holes are apart, so they add nothing.
    """
    make = '{{ pixels = 20, wire = "18 AWG", tail = "{tail}", connector_milliohms = {ohms} }}'
    bare, joined, long = (
        drop(read(run_of(60, 20, make.format(tail=tail, ohms=ohms), feed())))
        for tail, ohms in (("2 in", 0), ("2 in", 15), ("6 in", 0))
    )
    assert joined - bare == pytest.approx(2 * 0.015 * 0.06 * (60 + 40 + 20), abs=1e-5)
    # 6 in before the first pixel in place of 2, 12 in place of 4 at each connector on the way.
    inch = 2 * wire("18 AWG").ohms(FOOT / 12) * 0.06
    assert long - bare == pytest.approx(inch * (4 * 60 + 8 * 40 + 8 * 20), abs=1e-5)


def test_a_feed_at_a_connector_has_half_a_contact_on_either_side(read):
    """40 pixels fed in the middle: its own plug carries all, half a contact 20 on either side."""
    make = '{{ pixels = 20, wire = "18 AWG", connector_milliohms = {ohms} }}'
    bare, joined = (
        drop(read(run_of(40, 10, make.format(ohms=ohms), feed("connector 2")))) for ohms in (0, 20)
    )
    assert joined - bare == pytest.approx(2 * 0.06 * (0.020 * 40 + 0.010 * 20), abs=1e-5)


TRUNK = """
[[trunk]]
name = "heavy"
supply = "s"
along = "run"
start = "5 ft"
stop = "connector 3"
wire = "12 AWG"
length = 8
fuse = 20
[[tap]]
trunk = "heavy"
at = "connector 3"
wire = "16 AWG"
length = 1
fuse = 10
"""


def test_a_trunk_with_one_tap_is_a_long_feed(read):
    """40 pixels, 2.4 A: 8 ft of lead-in, 5 ft alongside, 1 ft of tap, two fuses and one plug [K]."""
    make = '{ pixels = 20, wire = "18 AWG", tail = 0, connector_milliohms = 10 }'
    text = run_of(40, 10, make, TRUNK).replace(
        "celsius = 20", "celsius = 20, contact_milliohms = 7"
    )
    site = read(text)
    bare = drop(read(run_of(40, 10, make, feed("end"))))  # that has a plug too
    way = 2 * wire("12 AWG").ohms(13 * FOOT) + 2 * wire("16 AWG").ohms(FOOT) + 2 * 0.007
    assert drop(site) - bare == pytest.approx(2.4 * way, abs=1e-5)
    seen = analyse(site, full_white(site.pixels), "")
    assert seen.flowing.trunks == pytest.approx({"heavy": 2.4})
    assert seen.wanted.taps == pytest.approx({"heavy tap at connector 3": 2.4})
    assert seen.supplies == pytest.approx({"s": 2.4})


def test_a_tap_without_a_place_goes_to_the_nearest_connector(read):
    make = "{ pixels = 20 }"
    site = read(run_of(40, 10, make, TRUNK.replace('at = "connector 3"\n', "")))
    assert [t.at for t in site.wiring.taps] == ["connector 3"]
    plain = TRUNK.replace('at = "connector 3"\n', "").replace('"connector 3"', '"4 ft"')
    plain = plain.replace("length = 1\n", "length = 5\n")
    site = read(run_of(40, 10, '{ wire = "18 AWG" }', plain))
    assert [t.at for t in site.wiring.taps] == ["start"]


def test_full_white_is_what_the_pixels_want_and_what_flows_is_less(read):
    """Where volts are too low, part of the light doesn't happen; both figures are there."""
    site = read(run_of(150, 40, '{ wire = "20 AWG" }', feed()))
    seen = analyse(site, full_white(site.pixels), "")
    assert seen.wanted.supplies["s"] == pytest.approx(150 * 0.060)
    assert seen.wanted.feeds == pytest.approx({"s to run start": 9.0})
    assert seen.flowing.supplies["s"] == seen.supplies["s"] < 8.5
    (string,) = (w for w in seen.wires if w.kind == "string")
    assert string.wanted == pytest.approx(9.0) and string.amps == pytest.approx(seen.supplies["s"])


def behind(site):
    return {
        (f.kind, f.owner, f.amps): {kind for kind, _ in site.wiring.behind(f)}
        for f in site.wiring.fuses
    }


def test_what_is_behind_a_fuse_ends_at_the_next_fuse(read):
    make = "{ pixels = 20 }"
    fused = behind(read(run_of(40, 10, make, TRUNK)))
    assert fused[("trunk", "heavy", 20.0)] == {"trunk"}
    assert fused[("tap", "heavy tap at connector 3", 10.0)] == {"tap", "string"}
    bare = behind(read(run_of(40, 10, make, TRUNK.replace("fuse = 10\n", ""))))
    assert bare[("trunk", "heavy", 20.0)] == {"trunk", "tap", "string"}
    bus = '[[bus]]\nalong = "run"\nwire = "14 AWG"\nname = "b"\n'
    both = behind(read(run_of(40, 10, make, feed(rest="fuse = 5") + bus)))
    assert both[("feed", "s to run start", 5.0)] == {"feed", "string", "bus"}
    tied = behind(read(run_of(40, 10, make, feed(rest="fuse = 5") + bus + "tie_fuse = 3")))
    assert tied[("feed", "s to run start", 5.0)] == {"feed", "string"}
    assert tied[("tie", "b", 3.0)] == {"string", "bus"}


def test_a_cut_keeps_what_is_behind_a_fuse_apart(read):
    """Whole, a fault beyond pixel 20 draws through the bare feed's wire too; cut, it can't."""
    bare = feed("end").replace("4 AWG", "14 AWG")
    whole = run_of(40, 10, "{ pixels = 20 }", feed(rest="fuse = 5") + bare)
    cut = whole.replace('path = ["run"]', 'path = ["run"], cuts = ["after pixel 20"]')
    for text, reached in ((whole, True), (cut, False)):
        wiring = read(text).wiring
        fuse = next(f for f in wiring.fuses if f.amps == 5)
        assert (("feed", "s to run end") in wiring.behind(fuse)) == reached
        assert wiring.thinnest(wiring.behind(fuse)) == ("string", "run")


def test_a_cut_after_a_pixel_takes_the_stretch_behind_it(read):
    text = run_of(40, 10, "{ pixels = 20 }", feed() + feed("connector 2"))
    cut = read(text.replace('path = ["run"]', 'path = ["run"], cuts = ["after pixel 20"]'))
    share = cut.wiring.network.shares(
        [cut.wiring.of("feed", "s to run start", "positive")[0].resistor]
    )
    assert share[0].dense(40) == pytest.approx(np.repeat([1.0, 0.0], 20))
    with pytest.raises(InputError, match='line "run", cuts: is "after pixel 40"; expected 1 to 39'):
        read(text.replace('path = ["run"]', 'path = ["run"], cuts = ["after pixel 40"]')).wiring  # noqa: B018


def joined_without_a_cut(site):
    return [f for f in site.verdict.dangers if f.code == "supplies-joined"]


def test_two_supplies_without_a_cut_are_told(read):
    two = 'supply = [{ name = "s", volts = 12, amps = 40 }, { name = "t", volts = 12, amps = 9 }]'
    text = run_of(40, 10, "{ pixels = 20 }", feed() + feed("end").replace('"s"', '"t"'))
    text = text.replace('supply = [{ name = "s", volts = 12, amps = 40 }]', two)
    (missing,) = joined_without_a_cut(read(text))
    assert '"s" and "t": no cut between "s to run start" and "t to run end"' in missing.says
    assert 'cuts = ["after pixel 20"]' in missing.remedy
    given = text.replace('path = ["run"]', 'path = ["run"], cuts = ["after pixel 20"]')
    assert joined_without_a_cut(read(given)) == []


def test_a_bus_over_a_cut_connects_two_supplies(read):
    two = ", ".join(f'{{ name = "{name}", volts = 12, amps = 9 }}' for name in "str")
    text = run_of(40, 10, "{ pixels = 20 }", feed() + feed("end").replace('"s"', '"t"'))
    text = text.replace('{ name = "s", volts = 12, amps = 40 }', two)
    text = text.replace('path = ["run"]', 'path = ["run"], cuts = ["after pixel 20"]')
    assert read(text).wiring.network.joined_sources() == []
    bus = '[[bus]]\nalong = "run"\n'
    with pytest.raises(InputError, match='the positives of supplies "s" and "t" are connected'):
        read(text + bus).wiring  # noqa: B018


def test_more_conductors_in_a_pipe_may_carry_less(read):
    """Two of the string, two of a trunk, two of a bus: six, so 0.8 of 5.29 A [K]."""
    bus = '[[bus]]\nalong = "run"\nwire = "14 AWG"\n'
    make = '{ pixels = 20, wire = "18 AWG" }'
    alone = read(run_of(40, 10, make, feed()))
    assert alone.wiring.may_carry("string", "run") == 5.29
    site = read(run_of(40, 10, make, TRUNK + bus))
    assert site.wiring.may_carry("string", "run") == 4.23
    assert site.wiring.may_carry("tap", "heavy tap at connector 3") == 7.05  # 8 A of 16 AWG
    given = run_of(40, 10, make, TRUNK + bus).replace(
        "celsius = 20", "celsius = 20, conductors = 7"
    )
    assert read(given).wiring.may_carry("string", "run") == 3.7


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            'at = "connector 3"',
            'at = "start"',
            'tap "heavy tap at start", at: is 0 in along the line, 5 ft beyond the trunk, and its '
            "wire is 1 ft long; make the trunk or the tap longer",
        ),
        ('stop = "connector 3"', 'stop = "connector 9"', 'trunk "heavy", stop: is "connector 9"; '),
        ('"12 AWG"', '"12 AWG"\nnaem = 1', 'naem: no such key; did you mean "name"'),
    ],
)
def test_a_trunk_that_makes_no_sense_is_refused(read, old, new, says):
    text = run_of(40, 10, "{ pixels = 20 }", TRUNK)
    assert old in text
    with pytest.raises(InputError, match=says):
        read(text.replace(old, new)).wiring  # noqa: B018


def test_ties_beyond_a_bus_or_at_one_place_are_refused(read):
    bus = '[[bus]]\nalong = "run"\nname = "b"\nstop = "5 ft"\nties = ["start", "{at}"]\n'
    for at, says in (
        ("8 ft", 'bus "b", ties: "8 ft" is 8 ft along the line, beyond the bus, which runs from '),
        ("0 ft", 'bus "b", ties: two ties are at one place'),
    ):
        with pytest.raises(InputError, match=says):
            read(run_of(40, 10, "{ pixels = 20 }", feed() + bus.format(at=at))).wiring  # noqa: B018


def test_a_cut_that_leaves_pixels_without_a_feed_is_refused(read):
    text = run_of(40, 10, "{ pixels = 20 }", feed(rest="fuse = 5"))
    site = read(text.replace('path = ["run"]', 'path = ["run"], cuts = ["after pixel 20"]'))
    with pytest.raises(InputError, match="20 pixels, from pixel 21 on, have no feed"):
        site.wiring  # noqa: B018


@pytest.mark.parametrize("tail", ["30 mm", "60 mm"])
def test_a_missing_cut_is_computed_where_it_is_advised(read, tail):
    """Also where half-way between two supplies is exactly a pixel."""
    text = (
        'house = { name = "Half-way", unit = "m" }\n'
        'edge = [{ name = "run", points = [[0, 0, 3], [1.8, 0, 3]] }]\n'
        'line = [{ name = "run", path = ["run"] }]\n'
        'rail = { hole_spacing = "100 mm" }\npixel = { kind = "ws2812b" }\n'
        'supply = [{ name = "one", volts = 5, amps = 9 }, { name = "two", volts = 5, amps = 9 }]\n'
        f'string = {{ pixels = 9, tail = "{tail}" }}\n'
        'feed = [{ supply = "one", to = "run", length = 1, fuse = 1 }, { supply = "two", to = "run",'
        ' at = "connector 2", length = 1, fuse = 1 }, { supply = "two", to = "run", at = "end",'
        " length = 1, fuse = 1 }]\n"
    )
    house = read(text)
    (missing,) = joined_without_a_cut(house)
    (asked,) = re.findall(r'cuts = \["after pixel \d+"\]', missing.remedy)
    cut = read(text.replace('path = ["run"]', f'path = ["run"], {asked}'))
    white = [analyse(one, full_white(one.pixels), "").supplies for one in (house, cut)]
    assert white[0] == pytest.approx(white[1], abs=1e-9)
