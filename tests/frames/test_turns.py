"""Places that take turns: who is lit when, by hand, and on a house."""

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.frames import plan as planning
from lumenmap.frames.render import render, render_block
from lumenmap.frames.turns import PlannedTurns, in_parts
from lumenmap.motion.ramp import Ramp
from lumenmap.show.model import Turns
from tests.frames.shows import one


def at(*seconds):
    return np.array(seconds, float)[:, None]


def lit(turns, seconds, places=4, seed=1):
    """Which of some places are lit, as text: one word for each moment."""
    rows = tuple(np.array([k]) for k in range(places))
    seen = PlannedTurns(turns, rows, places, seed).lit(at(*seconds))
    return ["".join(map(str, row.astype(int))) for row in seen]


def test_each_in_its_turn_and_round_again():
    seen = lit(Turns(1.0), [0, 0.99, 1, 2, 3.5, 4, -0.5])
    assert seen == ["1000", "1000", "0100", "0010", "0001", "1000", "0001"]


@pytest.mark.parametrize(("every", "fps"), [(0.1, 30), (0.3, 10), (0.7, 60), (1 / 3, 24)])
def test_a_turn_begins_with_its_own_frame(every, fps):
    """Also where no binary number holds its length: 0.3 / 0.1 is 2.9999999999999996."""
    starts = [round(every * fps) * k for k in range(60)]
    seen = lit(Turns(every), [frame / fps for frame in starts])
    assert seen == [["1000", "0100", "0010", "0001"][k % 4] for k in range(60)]
    before = lit(Turns(every), [(frame - 1) / fps for frame in starts[1:]])
    assert before == seen[:-1]


def test_to_and_fro_has_each_end_once():
    seen = lit(Turns(1.0, order="to and fro"), range(8))
    assert seen == ["1000", "0100", "0010", "0001", "0010", "0100", "1000", "0100"]


def test_one_more_each_turn_stays_lit():
    assert lit(Turns(1.0, "one more"), range(5)) == ["1000", "1100", "1110", "1111", "1000"]
    assert lit(Turns(1.0, "one more", first=3), range(3)) == ["1110", "1111", "1110"]
    assert lit(Turns(None, "one more", first=3), [0, 99]) == ["1110", "1110"]
    assert lit(Turns(None, "one more", first=0), [0]) == ["0000"]


def test_one_fewer_each_turn_goes_out():
    seen = ["1111", "0111", "0011", "0001", "0000", "1111"]
    assert lit(Turns(1.0, "one fewer"), range(6)) == seen
    assert lit(Turns(1.0, "one fewer", rounds=1), [3, 4, 9]) == ["0001", "0000", "0000"]


def test_after_its_rounds_it_is_held_or_dark():
    assert lit(Turns(1.0, rounds=2), [7, 8, 50]) == ["0001", "0001", "0001"]
    assert lit(Turns(1.0, rounds=2, then="dark"), [7, 8, 50]) == ["0001", "0000", "0000"]
    assert lit(Turns(1.0, rounds=2), [-1]) == ["0000"]


def test_by_lot_each_place_has_one_turn_a_round_and_rounds_differ():
    turns = Turns(1.0, order="by lot")
    rounds = [lit(turns, range(8 * k, 8 * k + 8), 8) for k in range(6)]
    assert all(sorted(r) == sorted(rounds[0]) for r in rounds)
    assert len(set(rounds[0])) == 8
    assert len({tuple(r) for r in rounds}) == 6
    assert lit(turns, range(8), 8, seed=2) != rounds[0]
    assert lit(turns, [13], 8) == [rounds[1][5]], "a moment alone is as in a row"


def test_a_turn_fades_into_the_next():
    planned = PlannedTurns(Turns(1.0, fade=0.5), (np.array([0]), np.array([1])), 2, 1)
    seen = planned.lit(at(0.9, 1.0, 1.25, 1.5))
    assert seen[:, 1] == pytest.approx([0, 0, 0.5, 1])
    assert seen.sum(1) == pytest.approx(1), "what one loses the other gains"


def test_turns_may_quicken():
    """From 2 s to 1 s: after 2 s, ∫ dt/(2 - t/2) = 2 ln 2 turns have passed; after 6 s 4 more."""
    turns = Turns(Ramp((0.0, 2.0), (2.0, 1.0)), "one more")
    passed = 2 * np.log(2)
    assert lit(turns, [2.0, 2.0 + (2 - passed) - 0.01, 2.0 + (2 - passed) + 0.01], 8) == [
        "11000000",
        "11000000",
        "11100000",
    ]


def test_a_pixel_of_two_places_is_lit_by_either():
    planned = PlannedTurns(Turns(1.0), (np.array([0, 1]), np.array([1, 2])), 3, 1)
    assert planned.lit(at(0, 1)).tolist() == [[1, 1, 0], [0, 1, 1]]


def test_parts_are_equal_and_gaps_stay_dark():
    along = (np.arange(1000) + 0.5) / 1000
    parts = in_parts(along, 8)
    assert [p.sum() for p in parts] == [125] * 8
    assert (np.sum(parts, 0) == 1).all()
    gapped = in_parts(along, 8, 0.4)
    assert [p.sum() for p in gapped] == [75] * 8
    assert in_parts(np.array([0.0, 1.0]), 3)[2].tolist() == [False, True]


def show(turns, **more):
    return one("still", 8, turns=turns, **more)


def test_places_of_a_layer_take_turns_and_others_show_through(lay):
    work = lay(show('{ every = "1 s" }', on='["main/rake-left", "porch"]', level=1))
    pixels = work.site.pixels
    for second, name in enumerate(["main/rake-left", "porch"]):
        frame = render_block(work.plan, 40 * second + 20, 40 * second + 21)[0].max(-1)
        on = pixels.edge == pixels.edge_names.index(name)
        assert frame[on].min() > 0.9
        assert frame[~on].max() == 0


def test_each_edge_takes_its_turn_in_the_order_of_the_wire(lay):
    work = lay(show('{ every = "1 s", parts = "edges" }', level=1))
    pixels = work.site.pixels
    order = [pixels.edge_names[n] for n in dict.fromkeys(pixels.edge.tolist())]
    assert order[0] == "main/rake-left"
    for second, name in enumerate(order):
        frame = render_block(work.plan, 40 * second + 20, 40 * second + 21)[0].max(-1)
        assert set(pixels.edge[frame > 0.5].tolist()) == {pixels.edge_names.index(name)}


@pytest.mark.parametrize("blend", ["normal", "screen"])
def test_tiles_and_blocks_change_nothing(lay, monkeypatch, blend):
    text = show(
        '{ every = "0.3 s", parts = 7, way = "across", fade = "0.2 s", order = "by lot" }',
        blend=f'"{blend}"',
        opacity='{ from = 0.1, to = 1, over = "4 s" }',
        within='{ up = ["9 ft", "30 ft"] }',
    )
    work = lay(text)
    whole = np.concatenate(list(render(work.plan)))
    assert (np.concatenate(list(render(work.plan, block=7))) == whole).all()
    monkeypatch.setattr(planning, "BLOCK", 8 * 57)
    tiled = planning.plan(work.show, work.site)
    assert len(tiled.tiles) > 5
    assert (np.concatenate(list(render(tiled))) == whole).all()
    assert whole.max() > 0.5


def test_the_clock_of_a_turn_starts_the_effect_anew_in_each(lay):
    work = lay(
        one(
            "swell",
            6,
            period='"2 s"',
            least=0,
            clock='"turn"',
            turns='{ every = "1.5 s", parts = 3 }',
        )
    )
    light = np.concatenate(list(render(work.plan))).max((1, 2))
    assert light[[0, 60, 120]] == pytest.approx(0, abs=1e-6)
    assert light[[40, 100, 160]] == pytest.approx(1, abs=1e-3)


@pytest.mark.parametrize(
    ("turns", "says"),
    [
        ('{ every = "1 s" }', "layer 1, turns: needs places that take turns"),
        ('{ every = "0 s", parts = 3 }', "turns.every.*expected 0.02 s to"),
        ("{ parts = 1 }", "turns.parts.*expected at least 2"),
        ("{ parts = 3, rounds = 2 }", "turns: rounds need `every`"),
        ("{ parts = 3, first = 2 }", '`first` goes with lit = "one more"'),
        ('{ parts = 3, lit = "one more", first = 4 }', "first is 4; there are 3 places"),
        ('{ parts = 3, lit = "one mor" }', 'turns.lit: is "one mor"; did you mean "one more"'),
        ('{ parts = 3, way = "accross" }', 'turns.way: no way "accross"; did you mean "across"'),
        ('{ parts = 3, evry = "1 s" }', 'turns.evry: no such key; did you mean "every"'),
    ],
)
def test_mistakes_of_turns_are_said(lay, turns, says):
    with pytest.raises(InputError, match=says):
        lay(show(turns))


def test_the_clock_of_a_turn_needs_turns(lay):
    with pytest.raises(InputError, match=r'clock = "turn" needs turns = \{'):
        lay(one("still", 2, clock='"turn"'))
