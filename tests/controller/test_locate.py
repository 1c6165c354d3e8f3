import numpy as np
import pytest

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
        "line back: pixel 7 blinks white on porch, 0.600 m from its start",
        "  dim blue is the one before it on the wire, dim green the one after",
    ]
    feet = locate(pixelmap, "pixel", pixel=7, line="back", unit="ft")
    assert feet.words[0].endswith("on porch, 1 ft 11 5/8 in from its start")  # 0.6 m / 25.4 mm


def test_dot_walks_in_the_order_of_the_data_and_says_the_way(pixelmap):
    got = locate(pixelmap, "walk", line="front")
    assert got.light[:30].any(axis=2)[:, :30].argmax(axis=1)[2:].tolist() == list(range(28))
    brightest = got.light[:30, :30].sum(axis=2).argmax(axis=1)
    assert brightest.tolist() == list(range(30))
    assert got.words[:3] == [
        "line front: the dot walks",
        "  1. pixels 1 to 18: main/eave, from start to end",
        "  2. pixels 19 to 28: main/rake, from its end to its start",
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


def test_count_marks_tens_fifties_and_the_first(pixelmap):
    light = locate(pixelmap, "count").light[0]
    assert np.flatnonzero(light.any(axis=1)).tolist() == [0, 9, 19, 29, 30, 39]


@pytest.mark.parametrize(
    ("question", "options", "match"),
    [
        ("wich", {}, "no question"),
        ("walk", {"line": "frnt"}, 'no line "frnt"; did you mean "front"'),
        ("pixel", {"pixel": 13, "line": "back"}, "pixel is 13; the line has pixels 1 to 12"),
        ("pixel", {"pixel": 0}, "pixel is 0"),
        ("walk", {"brightness": 0.5}, "somebody looks at it from a ladder"),
        ("walk", {"brightness": float("nan")}, "brightness is nan"),
    ],
)
def test_questions_without_an_answer(pixelmap, question, options, match):
    with pytest.raises(InputError, match=match):
        locate(pixelmap, question, **options)
