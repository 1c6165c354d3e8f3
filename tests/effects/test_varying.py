"""Options over time: every effect takes ramps as it takes numbers, wherever time is cut."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

from lumenmap.frames.evaluate import evaluate
from lumenmap.frames.plan import part
from lumenmap.frames.planned import PlannedLayer
from lumenmap.motion.easing import easing
from lumenmap.motion.options import Rate, Speed
from lumenmap.motion.ramp import Ramp
from lumenmap.show.model import Layer
from tests.effects.test_contract import AT, DOT, EACH, EFFECTS, PALETTE

#: Times since a cue's start, some of them before it.
SINCE = np.arange(-12, 78)[:, None] / 15
CUTS = np.cumsum([1, 7, 1, 1, 2, 16] * 3)
#: Speeds and times that an effect can't change: what has begun must end as it began.
STEADY = {
    "antiphon": {"note"},
    "eavesdrip": {"gather"},
    "hearth": {"slowest"},
    "peepers": {"stay"},
    "rebound": {"flight"},
    "skyburst": {"every", "rise", "fade"},
    "starfall": {"every"},
    "summerstorm": {"every"},
    "swap": {"hold", "turn"},
    "turnbeam": {"period"},
    "unroll": {"speed", "period"},
    "woodpile": {"fill", "hold"},
}
#: What has begun ends as it began: a new value is seen when the next one begins.
BORN = {"murmur", "rebound", "starfall", "woodpile"}
#: Drawn at the highest value, with some left out; balls are thrown as often as the liveliest can be.
HIGHEST = {("glint", name) for name in EFFECTS["glint"].options} | {("rebound", "keep")}
VARYING = [(e, name) for e in EFFECTS.values() for name, s in e.options.items() if s.may_vary]
IDS = [f"{effect.name}-{name}" for effect, name in VARYING]


def planned(effect, pace=1.0, late=0.0, **given_) -> PlannedLayer:
    options = effect.read({}) | given_
    if effect.name == "picture":  # whose height may vary if it has a width
        options = {**options, "file": DOT, "width": 3.0, **given_}
    layer = Layer(effect, options, PALETTE, (), "normal", 1.0, "layer", pace=pace, delay=late)
    return PlannedLayer(layer, AT, None, options, late)


def ends(kind, effect="") -> tuple[float, float]:
    """Two values of a kind that an evening may hold, apart from each other."""
    if (effect, kind.help) == ("bands", EFFECTS["bands"].options["soft"].kind.help):
        return 0.005, 0.02  # no more than half a band
    low, high = kind.low, min(kind.high, max(kind.low + 1, kind.low * 20, 8.0))
    return low + (high - low) * 0.2, low + (high - low) * 0.7


@pytest.mark.parametrize(("effect", "name"), VARYING, ids=IDS)
@settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(share=st.floats(0, 1), pace=st.sampled_from([1.0, -0.7, 2.5]), repeat=st.booleans())
def test_a_ramp_that_stays_the_same_is_the_plain_number_to_the_bit(
    effect, name, share, pace, repeat
):
    low, high = ends(effect.options[name].kind, effect.name)
    value = low + (high - low) * share
    still = Ramp((0.0, 1.3, 2.0), (value,) * 3, easing("ease-in"), repeat)
    plain = evaluate(planned(effect, pace, 0.4, **{name: value}), SINCE)
    assert_array_equal(evaluate(planned(effect, pace, 0.4, **{name: still}), SINCE), plain)


@pytest.mark.parametrize(("effect", "name"), VARYING, ids=IDS)
def test_a_ramped_option_may_be_cut_anywhere(effect, name):
    ramp = Ramp(
        (0.0, 1.0, 4.0),
        (
            *ends(effect.options[name].kind, effect.name),
            ends(effect.options[name].kind, effect.name)[0],
        ),
        easing("ease"),
    )
    layer = planned(effect, **{name: ramp})
    whole = evaluate(layer, SINCE)
    # Frames alone, two together, and blocks, one after another.
    cut = [evaluate(layer, some) for some in np.split(SINCE, CUTS)]
    assert_array_equal(np.concatenate(cut), whole)
    half = slice(0, len(AT.xyz) // 2)
    some = part(AT, half)
    assert_array_equal(evaluate(replace(layer, at=some), SINCE), whole[:, half])


@pytest.mark.parametrize(("effect", "name"), VARYING, ids=IDS)
def test_a_ramp_begins_as_its_first_value_and_then_changes_the_light(effect, name):
    ramp = Ramp((0.0, 3.0), ends(effect.options[name].kind, effect.name))
    since = (
        np.concatenate([SINCE, np.arange(6, 90, 0.2)[:, None]]) if effect.name in BORN else SINCE
    )
    plain = evaluate(planned(effect, **{name: ramp.to[0]}), since)
    light = evaluate(planned(effect, **{name: ramp}), since)
    assert np.isfinite(light).all()
    assert 0 <= light[..., :3].min() <= light[..., :3].max() <= 1 + 1e-6
    if (effect.name, name) not in HIGHEST:
        assert_array_equal(light[since[:, 0] <= 0], plain[since[:, 0] <= 0])
    assert (light != plain).any()


@pytest.mark.parametrize(
    ("effect", "name", "values", "at", "until"),
    [
        # A pile takes 14 s, is held for 2.5 s, and leaves.
        ("woodpile", "length", (0.5, 1.5), 3.0, 16.4),
        ("woodpile", "speed", (1.0, 3.0), 3.0, 16.4),
        # Of three balls one is thrown every 4.13 s: eight bounces from 2.6 s on, and 1.2 s of rest.
        ("rebound", "keep", (0.66, 0.3), 4.5, 8.2),
        # Patches of 5 s and shades of 3.1 s show from when those before are at their fullest.
        ("murmur", "size", (0.6, 2.0), 5.5, 6.19),
    ],
)
def test_what_has_begun_ends_as_it_began(effect, name, values, at, until):
    """A value that jumps is seen at the next beginning, and not before."""
    first, then = values
    jump = Ramp((0.0, at, 90.0), (first, then, then), easing("step-end"))
    since = np.arange(0, 60, 0.1)[:, None]
    plain = evaluate(planned(EFFECTS[effect], **{name: first}), since)
    light = evaluate(planned(EFFECTS[effect], **{name: jump}), since)
    before = since[:, 0] < until
    assert_array_equal(light[before], plain[before])
    assert (light[~before] != plain[~before]).any()


@EACH
def test_every_number_length_and_share_may_vary_and_so_may_speeds_that_add_up(effect):
    steady = {name for name, s in effect.options.items() if s.kind.gradual and not s.may_vary}
    assert steady == STEADY.get(effect.name, set())
    for spec in effect.options.values():
        assert spec.may_vary <= math.isfinite(spec.kind.high)


#: What depends on the present speed, not on how far it went: waves that have begun are moved, too.
PRESENT = {
    ("doublebeat", "speed"),
    ("doublebeat", "rate"),
    ("hearth", "speed"),
    ("pendulum", "period"),  # whose wake is as long as it is quick
}
DRIVING = [
    (e, name)
    for e, name in VARYING
    if (isinstance(e.options[name].kind, Speed | Rate) or name == "period")
    and (e.name, name) not in PRESENT
]


@pytest.mark.parametrize(("effect", "name"), DRIVING, ids=[f"{e.name}-{n}" for e, n in DRIVING])
def test_a_speed_that_changes_at_once_does_not_make_the_light_jump(effect, name):
    """Distance is the integral of speed: a microsecond before and after, the light is the same."""
    low, high = ends(effect.options[name].kind, effect.name)
    ramp = Ramp((0.0, 1.77, 3.0), (low, high, high), easing("step-end"))
    moments = np.array([1.77 - 1e-6, 1.77 + 1e-6, 2.3])[:, None]
    before, after, later = evaluate(planned(effect, **{name: ramp}), moments)[..., :3]
    # Hard edges may pass a few pixels just then.
    assert (np.abs(after - before).max(-1) > 0.06).mean() < 0.04
    assert np.abs(later - before).max() > 0.005
