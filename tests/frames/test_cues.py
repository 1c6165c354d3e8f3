"""When a cue begins and ends, to the frame; fades and envelopes by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.frames.fades import fades, full
from lumenmap.frames.render import render, render_block
from lumenmap.motion.easing import easing
from lumenmap.motion.ramp import Ramp
from lumenmap.show.model import Cue
from tests.frames.shows import one

SECOND = """
[[cue]]
start = "1 s"
[[cue.layer]]
effect = "still"
palette = "one"
"""


def at(*seconds):
    return np.array(seconds, float)[:, None]


def cue(start=2.0, length=4.0, fade_in=0.0, fade_out=0.0):
    return Cue("c", start, length, fade_in, fade_out, ())


def test_a_cue_has_its_first_frame_and_not_the_one_after_its_last():
    """From 2 s on and 4 s long: the frame at 2 s is its own, the one at 6 s the next cue's."""
    got = fades(cue(), at(1.999, 2, 2.001, 5.999, 6, 6.001)).ravel()
    assert got.tolist() == [0, 1, 1, 1, 0, 0]


@pytest.mark.parametrize("fps", [24, 29.97, 30, 40, 60])
def test_every_frame_of_cues_that_follow_each_other_belongs_to_one(fps):
    """Lengths that no binary number holds exactly: a frame on the seam is counted once."""
    t = np.arange(200)[:, None] / fps
    length = 7 / fps
    total = sum(fades(cue(k * length, length), t) for k in range(30))
    assert total[: 30 * 7].max() == 1
    assert total[: 30 * 7 - 11].min() == 1


def test_cues_that_follow_each_other_never_shine_together(lay):
    """The second takes over at its own first frame: no frame has twice the light."""
    show = (
        one("still", 2, level=1)
        .replace("fps = 40", "fps = 40\nmatch_screen = false")
        .replace("[[cue]]", '[[cue]]\nlength = "1 s"', 1)
        + SECOND
    )
    light = np.concatenate(list(render(lay(show).plan)))
    assert light == pytest.approx(1, abs=1e-6)


def test_the_way_in_and_the_way_out_are_not_mixed_up():
    got = fades(cue(fade_in=1.0, fade_out=2.0), at(2, 2.25, 3, 4, 5, 5.5)).ravel()
    assert got == pytest.approx([0, 0.25, 1, 1, 0.5, 0.25])


@given(
    st.floats(-1, 8),
    st.floats(0, 4),
    st.floats(0, 3),
    st.floats(0, 3),
    st.sampled_from(["linear", "ease", "linear(0, 0.5)", "steps(2, jump-end)"]),
)
def test_what_is_told_to_be_fully_bright_is(first, length, fade_in, fade_out, curve):
    """linear(0, 0.5) stays at half after its fade: only the fades themselves tell."""
    eased = Cue("c", 2.0, 4.0, fade_in, fade_out, (), easing=easing(curve))
    t = at(*np.linspace(first, first + length, 9))
    assert not full(eased, t) or (fades(eased, t) == 1).all()


def test_a_fade_that_ends_half_way_up_leaves_its_cue_there():
    """CSS's ``linear(0, 0.5)`` ends at a half, so its cue is never fully bright."""
    dim = Cue("c", 0.0, 9.0, 1.0, 0.0, (), easing=easing("linear(0, 0.5)"))
    middle = at(4, 4.5, 5)
    assert fades(dim, middle).ravel() == pytest.approx([0.5] * 3)
    assert not full(dim, middle)


def test_most_of_a_cue_is_told_to_be_fully_bright():
    faded = cue(fade_in=1.0, fade_out=1.0)
    assert [full(faded, at(t, t + 0.5)) for t in (2.5, 3.0, 4.5, 4.75, 5.5)] == [
        False,
        True,
        True,
        False,
        False,
    ]


def test_the_shortest_fades_there_are():
    """1e-308 s: a quotient would overflow, which raises here (numpy faults do, in every test)."""
    got = fades(cue(fade_in=1e-308, fade_out=5e-324), at(1, 2, 3, 5.999, 6)).ravel()
    assert got.tolist() == [0, 0, 1, 1, 0]
    steep = Ramp((0.0, 1e-308, 1.0), (0.25, 1.0, 0.5))
    assert steep(at(0, 0.5, 1)).ravel() == pytest.approx([0.25, 0.75, 0.5])


def test_an_envelope_by_hand_and_round_and_round():
    held = Ramp((0.0, 1.0, 2.0), (0.0, 1.0, 0.5))
    again = Ramp((0.0, 1.0, 2.0), (0.0, 1.0, 0.5), repeat=True)
    assert held(at(0, 0.5, 1, 1.5, 2, 9)).ravel() == pytest.approx([0, 0.5, 1, 0.75, 0.5, 0.5])
    assert again(at(2, 2.5, 3, 4.5)).ravel() == pytest.approx([0, 0.5, 1, 0.5])


def test_a_layers_envelope_counts_from_its_cue_and_not_from_the_show(lay):
    swell = 'envelope = { at = ["0 s", "1 s"], level = [0, 1] }'
    show = one("still", 3, level=1).replace("[[cue]]", '[[cue]]\nstart = "1 s"', 1) + f"\n{swell}\n"
    light = np.concatenate(list(render(lay(show).plan)))[:, 0, 0]
    assert light[[39, 40, 60, 80, 110]] == pytest.approx([0, 0, 0.5, 1, 1])


def test_a_delay_is_in_the_shows_time_whatever_the_layers_pace(lay):
    """A layer at twice the pace and a second late shows at 2 s what it would show at 2 s alone."""
    plain = lay(one("brightwake", 6))
    late = lay(one("brightwake", 6, delay='"1 s"', pace=2))
    assert (render_block(late.plan, 80, 81) == render_block(plain.plan, 80, 81)).all()
    assert (render_block(late.plan, 60, 61) == render_block(plain.plan, 40, 41)).all()
