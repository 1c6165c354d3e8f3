"""The pixel map: places don't depend on paths; lines, spares, dead pixels, universes, groups."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.pixels.select import select
from tests.small_house import HOUSE

FOOT = 0.3048
RIM = [
    "main/rake-left",
    "main/rake-right",
    "main/eave-right",
    "main/back-rake-right",
    "main/back-rake-left",
    "main/eave-left",
]
PATH = '"main/rake-left", "main/rake-right"'


def places(pixels):
    return {tuple(np.round(p, 9)) for p in pixels.xyz[pixels.lit]}


def test_two_rakes_hold_what_the_arithmetic_says(load):
    """24 ft wide, 1 ft overhang, 8/12: rakes of 13 x 1.20185 ft = 187.49 in: 62 holes of 3 in."""
    pixels = map_pixels(load())
    assert len(pixels) == 124
    assert pixels.lines[0].count == 124
    assert pixels.lines[0].length == pytest.approx(2 * 13 * np.hypot(1, 8 / 12) * FOOT)
    assert (pixels.facing == [0, -1, 0]).all()


@pytest.fixture(scope="module")
def write(tmp_path_factory):
    folder = tmp_path_factory.mktemp("houses")
    count = itertools.count()

    def made(path, more="", text=HOUSE):
        file = folder / f"house-{next(count)}.toml"
        file.write_text(text.replace(PATH, path) + more)
        return load_house(file)

    return made


paths = st.lists(st.sampled_from(RIM), min_size=1, max_size=6, unique=True)


@given(paths, st.data())
def test_any_order_and_direction_gives_the_same_places(write, names, data):
    """Jumpers of 99 ft bridge any gap; order and direction never move a pixel off its edge."""
    turned = [data.draw(st.booleans()) for _ in names]
    words = [f'"{n} reversed"' if t else f'"{n}"' for n, t in zip(names, turned, strict=True)]
    house = write(', { jumper = "99 ft" }, '.join(words))
    pixels = map_pixels(house)
    plain = map_pixels(write(', { jumper = "99 ft" }, '.join(f'"{n}"' for n in sorted(names))))
    assert places(pixels) == places(plain)
    for i, name in enumerate(pixels.edge_names):
        here = pixels.edge == i
        if here.any():  # each pixel lies on its edge, at the place along it that the map says
            a, b = house.edges[name].points
            part = pixels.along_edge[here] / pixels.edge_length[here]
            assert np.abs(pixels.xyz[here] - (a + part[:, None] * (b - a))).max() < 1e-9
            gaps = np.abs(np.diff(pixels.along_edge[here]))
            assert np.abs(gaps - 0.0762).max() < 1e-9
    assert (np.diff(pixels.along_line) > 0).all()


@pytest.mark.parametrize("spacing", ["3 in", "2.4 in", "7/8 in"])
def test_reversing_a_line_reverses_its_numbers_and_moves_no_pixel(write, spacing):
    text = HOUSE.replace('"3 in"', f'"{spacing}"')
    one = map_pixels(write(PATH, text=text))
    two = map_pixels(write('"main/rake-right reversed", "main/rake-left reversed"', text=text))
    assert two.xyz[::-1] == pytest.approx(one.xyz, abs=1e-12)
    assert two.along_edge[::-1] == pytest.approx(one.along_edge, abs=1e-12)
    assert two.along_line[::-1] == pytest.approx(one.lines[0].length - one.along_line, abs=1e-9)


def test_a_line_may_enter_and_leave_an_edge_part_way(write):
    whole = map_pixels(write('"main/eave-left"'))
    part = map_pixels(write('{ edge = "main/eave-left", start = "10 ft", stop = "20 ft" }'))
    assert len(part) == 40
    assert places(part) < places(whole)
    along = part.along_edge / FOOT
    assert along.min() >= 10 and along.max() <= 20
    back = map_pixels(write('{ edge = "main/eave-left", start = 10, stop = 20, reversed = true }'))
    assert back.xyz[::-1] == pytest.approx(part.xyz)
    assert back.along_line[0] == pytest.approx((20 - along.max()) * FOOT)


def test_two_lines_may_share_an_edge(write):
    pixels = map_pixels(
        write(
            '{ edge = "main/eave-left", stop = 12 }',
            '\n[[line]]\nname = "b"\npath = [{ edge = "main/eave-left", start = 12 }]',
        )
    )
    assert [s.count for s in pixels.lines] == [48, 80]
    assert len(places(pixels)) == 128


def test_spares_and_dead_pixels_take_a_number_and_stay_dark(write):
    pixels = map_pixels(
        write('"main/rake-left", { spares = 3 }, "main/rake-right", { spares = 1 }]\ndead = [5, 66')
    )
    assert len(pixels) == 128
    assert np.flatnonzero(~pixels.lit).tolist() == [4, 62, 63, 64, 65, 127]
    assert (pixels.edge[62:65] == -1).all()
    peak = pixels.xyz[62]
    assert peak[0] == pytest.approx(12 * FOOT)  # at the end of the left rake, where the wire is
    assert (pixels.edge_length > 0).all()


def test_jumpers_lengthen_the_wire_and_move_nothing(write):
    one = map_pixels(write(PATH))
    two = map_pixels(write('"main/rake-left", { jumper = "9 ft" }, "main/rake-right"'))
    assert (one.xyz == two.xyz).all()
    assert two.lines[0].length - one.lines[0].length == pytest.approx(9 * FOOT)
    assert two.along_line[62] - one.along_line[62] == pytest.approx(9 * FOOT)


def test_universes_follow_on_where_none_is_named(write):
    """170 RGB pixels fill a universe of 512 slots (ANSI E1.11 [P])."""
    more = (
        '\n[[line]]\nname = "b"\npath = ["main/eave-left"]\nuniverse = 7'
        + '\n[[line]]\nname = "c"\npath = ["main/eave-right"]\norder = "BRG"'
    )
    pixels = map_pixels(write(PATH, more))
    assert [s.universe for s in pixels.lines] == [1, 7, 8]
    assert [s.order for s in pixels.lines] == ["RGB", "RGB", "BRG"]


GROUPS = """
[group]
gable = ["main/rake-*"]
low-third = ["left side"]
"left side" = ["gable"]

[group.peak]
of = ["rake"]
low = [8, -5, 12]
high = [16, 5, 30]

[group.box]
high = [0, 50, 50]
"""


def test_groups_by_edge_mass_kind_pattern_hand_and_region(write):
    house = write('"main/rake-left", "main/rake-right", "main/eave-right"', GROUPS)
    pixels = map_pixels(house)

    def chosen(*patterns):
        return select(pixels, house, patterns)

    assert chosen("main/rake-left").sum() == 62
    assert chosen("main").all() and chosen("*").all() and chosen("front").all()
    assert chosen("rake").sum() == chosen("gable").sum() == chosen("left side").sum() == 124
    assert chosen("eave").sum() == len(pixels) - 124
    assert (chosen("rake", "eave")).all()
    assert np.flatnonzero(chosen("front 10-12", "front 1")).tolist() == [0, 9, 10, 11]
    peak = chosen("peak")
    x, _, z = pixels.xyz[peak].T / FOOT
    assert 0 < peak.sum() < 124 and x.min() >= 8 and x.max() <= 16 and z.min() >= 12
    box = chosen("box")
    assert box.any() and (pixels.xyz[box, 0] <= 1e-9).all() and (pixels.xyz[~box, 0] > 0).all()


@pytest.mark.parametrize(
    ("pattern", "says"),
    [
        ("main/rak-left", 'no place "main/rak-left"; did you mean "main/rake-left"'),
        ("gabl", 'no place "gabl"; did you mean "gable"'),
        ("porch/*", r'no place "porch/\*"'),
        ("front 9-4", r'is "front 9-4"; expected the lower number first, 4-9'),
        ("frnt 110-124", r'no line "frnt"; did you mean "front"\? Lines: front'),
        ("eaves", r'no place "eaves"; did you mean "eave"\? Places: '),
        ("front 120-125", r'"front 120-125": line "front" has pixels 1 to 124'),
    ],
)
def test_a_pattern_that_names_nothing(write, pattern, says):
    house = write(PATH, GROUPS)
    with pytest.raises(InputError, match=says) as caught:
        select(map_pixels(house), house, ["rake", pattern])
    assert caught.value.key == "item 2"


def test_bends_start_anew_unless_the_rail_is_flexible(load):
    arch = '\n[[edge]]\nname = "arch"\npoints = [[30,0,0],[30,0,"7.1 in"],["30 ft 7.1 in",0,"7.1 in"]]\n{}\n'
    line = (PATH, '"arch"')
    stiff = map_pixels(load(line, add=arch.format("")))
    bent = map_pixels(load(line, add=arch.format("flexible = true")))
    assert len(stiff) == 4 and len(bent) == 4
    assert np.abs(np.diff(bent.along_edge) - 0.0762).max() < 1e-9
    assert np.diff(stiff.along_edge)[1] > 0.08
    short = arch.replace("7.1 in", "2.9 in")
    assert len(map_pixels(load(line, add=short.format("flexible = true")))) == 1


def test_a_hundred_thousand_pixels_fit_and_ten_million_do_not(write):
    long = '\n[[edge]]\nname = "x"\npoints = [["0 m", "0 m", "9 m"], ["{} m", "0 m", "9 m"]]\n'
    text = HOUSE.replace('"3 in"', '"3 mm"').replace('"8 ft"', '"3 m"')
    assert len(map_pixels(write('"x"', long.format(300), text))) == 100_000
    with pytest.raises(
        InputError,
        match=r"makes 10,000,000 pixels; at most 200,000 are supported. A hole every 0.03 mm",
    ):
        map_pixels(write('"x"', long.format(300), text.replace('"3 mm"', '"0.03 mm"')))


def test_the_examples_map(examples):
    """Four whole houses of different shape; counts are those of the day they were looked at."""
    counts = {p.parent.name: len(map_pixels(load_house(p))) for p in examples.glob("*/house.toml")}
    assert {
        "alder-cottage": 353,
        "kelder-studio": 210,
        "marlow-bend": 637,
        "tannery-row": 257,
    }.items() <= counts.items()
