import numpy as np
import pytest

from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.order import to_wire
from lumenmap.controller.locate import FPS, QUESTIONS, locate
from lumenmap.core.errors import InputError
from lumenmap.parts.kinds import pixel_kind
from lumenmap.pixels.pixelmap import LineSpan, PixelMap


@pytest.fixture(params=["ws2811-12v", "sk6812-rgbw"])
def pixelmap(request):
    """Two lines: 30 pixels over two edges, the second run backwards, and 12 GRB ones."""
    kind = pixel_kind(request.param)
    counts = (30, 12)
    n = sum(counts)
    edge = np.array([0] * 18 + [1] * 10 + [-1] * 2 + [2] * 12, np.int32)
    along = np.concatenate([np.arange(18.0), np.arange(10.0)[::-1], [0, 0], np.arange(12.0)]) * 0.1
    order = "RGBW"[: kind.channels]
    swapped = "GRBW"[: kind.channels]
    return PixelMap(
        xyz=np.zeros((n, 3)),
        facing=np.zeros((n, 3)),
        along_line=np.arange(n) * 0.1,
        along_edge=along,
        edge_length=np.full(n, 2.0),
        edge=edge,
        line=np.repeat(np.arange(2, dtype=np.int32), counts),
        lit=edge >= 0,
        edge_names=("main/eave", "main/rake", "porch"),
        lines=(LineSpan("front", 0, 30, 1, order, 3.0), LineSpan("back", 30, 12, 2, swapped, 1.2)),
        kind=kind,
        groups={},
    )


@pytest.mark.parametrize("question", QUESTIONS)
def test_every_pattern_is_dim_and_says_what_to_look_for(pixelmap, question):
    got = locate(pixelmap, question, pixel=7)
    assert got.light.dtype == np.float32 and got.light.shape[1:] == (42, pixelmap.kind.channels)
    assert 0 < got.light.max() <= 0.1 + 1e-6 and got.words


def test_pixel_57_is_the_57th_on_the_wire(pixelmap):
    got = locate(pixelmap, "pixel", pixel=7, line="back")
    lit = np.flatnonzero(got.light[0].any(axis=1))
    assert lit.tolist() == [35, 36, 37], "it and its neighbours"
    assert (got.light[0, 36, :3] > 0).all() and not got.light[7, 36].any(), "it blinks"
    assert got.words == [
        "line back: pixel 7 blinks white on porch, 0.6 m from its start",
        "  the pixel before it on the wire is dim blue, the one after it dim green",
    ]
    feet = locate(pixelmap, "pixel", pixel=7, line="back", unit="ft")
    assert feet.words[0].endswith("on porch, 2 ft from its start")  # 0.6 m is 23.6 in


def test_dot_walks_in_the_order_of_the_data_and_says_the_way(pixelmap):
    got = locate(pixelmap, "walk", line="front")
    assert got.light[:30].any(axis=2)[:, :30].argmax(axis=1)[2:].tolist() == list(range(28))
    brightest = got.light[:30, :30].sum(axis=2).argmax(axis=1)
    assert brightest.tolist() == list(range(30))
    assert got.words[:3] == [
        "line front: a dot moves along",
        "  1. pixels 1 to 18: main/eave, from start to end",
        "  2. pixels 19 to 28: main/rake, from end to start",
    ]
    assert len(got.light) / FPS == 4.0


def test_edges_have_colours_of_their_own_and_white_starts(pixelmap):
    got = locate(pixelmap, "edges")
    middle = [got.light[0, i, :3].tolist() for i in (9, 20, 38)]
    assert len({tuple(m) for m in middle}) == 3
    assert len(set(got.light[0, 27, :3].tolist())) == 1, "rake starts at its last pixel on the wire"
    assert got.words[0] == "main/eave: red, white at its start"


def test_order_lights_the_wires_channels_one_after_the_other(pixelmap):
    """Whatever the house file calls them: place k of the wire, on both lines at once."""
    got = locate(pixelmap, "order")
    wired = to_wire(
        np.rint(got.light * 255).astype(np.uint8), [(s.slice, s.order) for s in pixelmap.lines]
    )
    for k in range(pixelmap.kind.channels):
        frame = wired[k * 20 + 15]
        assert (np.flatnonzero(frame.any(axis=0)) == [k]).all()


def one_line(count, edges=1):
    """A line of RGB pixels on so many edges, as evenly as they go."""
    kind = pixel_kind("ws2811-12v")
    edge = (np.arange(count) * edges // count).astype(np.int32)
    return PixelMap(
        xyz=np.zeros((count, 3)),
        facing=np.zeros((count, 3)),
        along_line=np.arange(count) * 0.1,
        along_edge=np.arange(count) * 0.1,
        edge_length=np.full(count, 9.0),
        edge=edge,
        line=np.zeros(count, np.int32),
        lit=np.ones(count, bool),
        edge_names=tuple(f"edge-{i}" for i in range(edges)),
        lines=(LineSpan("front", 0, count, 1, "RGB", 9.0),),
        kind=kind,
        groups={},
    )


def test_count_marks_tens_in_one_colour_and_rounder_numbers_longer():
    """Numbers from 1: tens alone, fifties with a dim pixel on each side, hundreds with two."""
    light = locate(one_line(205), "count").light
    shown = light[0].max(axis=1)
    lit = (np.flatnonzero(shown) + 1).tolist()
    tens = {10, 20, 30, 40, 60, 70, 80, 90, 110, 120, 130, 140, 160, 170, 180, 190}
    fifties = {49, 50, 51, 149, 150, 151}
    hundreds = {98, 99, 100, 101, 102, 198, 199, 200, 201, 202}
    assert set(lit) == {1} | tens | fifties | hundreds
    bright = set((np.flatnonzero(shown > 0.5 * shown.max()) + 1).tolist())
    assert bright == {1} | set(range(10, 210, 10)), "the number itself is the brightest"
    assert (light == light[..., :1]).all(), "white, whatever the channel order"
    blinking = np.flatnonzero((light != light[0]).any(axis=(0, 2)))
    assert blinking.tolist() == [0]


def test_a_mark_stays_on_its_line(pixelmap):
    light = locate(pixelmap, "count").light[0]
    assert np.flatnonzero(light.any(axis=1)).tolist() == [0, 9, 19, 29, 30, 39]


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("edges", [1, 7, 13, 19, 30])
def test_no_pattern_flashes_more_than_three_times_a_second(question, edges):
    """WCAG 2.2, success criterion 2.3.1, for each edge, the line, and pixel by pixel."""
    pixels = one_line(12 * edges, edges)
    light = locate(pixels, question, brightness=0.3).light
    regions = {name: np.flatnonzero(pixels.edge == i) for i, name in enumerate(pixels.edge_names)}
    counter = FlashCounter(FPS, {"line": np.arange(len(pixels)), **regions})
    # Full brightness: what the eye has got used to in the dark is dazzled by less than the criterion's.
    for _ in range(3):
        counter.add(light[..., :3] / light.max())
    assert not counter.findings()
    ups = (np.diff(np.concatenate([light, light]).max(axis=2), axis=0) > 0).cumsum(axis=0)
    second = round(FPS)
    assert (ups[second:] - ups[:-second]).max() <= 3, "counted by hand"


def test_beyond_six_edges_blink_apart():
    words = locate(one_line(300, 30), "edges").words
    assert words[0] == "edge-0: red, white at its start"
    assert words[6] == "edge-6: red blinking once in 2 s, white at its start"
    assert words[18] == "edge-18: red blinking twice a second, white at its start"
    light = locate(one_line(300, 30), "edges").light
    waves = {tuple((light[:, 10 * k + 5, :3] > 0).any(axis=1).tolist()) for k in (0, 6, 12, 18)}
    assert len(waves) == 4


@pytest.mark.parametrize(
    ("question", "options", "match"),
    [
        ("wich", {}, "no question"),
        ("walk", {"line": "frnt"}, 'no line "frnt"; did you mean "front"'),
        ("pixel", {"pixel": 13, "line": "back"}, 'pixel: is 13; line "back" has pixels 1 to 12'),
        ("pixel", {"pixel": 0}, "pixel: is 0"),
        (
            "walk",
            {"brightness": 0.5},
            "brightness: is 0.5; expected more than 0, at most 0.3: you'll be",
        ),
        ("walk", {"brightness": float("nan")}, "brightness: is nan"),
    ],
)
def test_questions_without_an_answer(pixelmap, question, options, match):
    with pytest.raises(InputError, match=match):
        locate(pixelmap, question, **options)


def test_a_name_that_promises_another_kind_of_file_is_refused(lumenmap, examples, tmp_path):
    house = examples / "alder-cottage" / "house.toml"
    done = lumenmap("locate", house, "count", "-o", tmp_path / "x.html")
    done.fails(2, r'x.html: ends in ".html", but format "raw" writes .rgb files')
    lumenmap("locate", house, "count", "-o", tmp_path / "x.csv").fails(
        2, "--format csv writes .csv"
    )
    assert not list(tmp_path.iterdir())
    assert lumenmap("locate", house, "count", "-o", tmp_path / "x.bin").code == 0
