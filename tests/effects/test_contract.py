"""The contract that every installed effect keeps, whoever wrote it."""

import inspect
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

from lumenmap.colour.palette import Palette
from lumenmap.motion import options
from lumenmap.motion.at import At
from lumenmap.motion.distance import Distance
from lumenmap.motion.raster import Raster
from lumenmap.motion.ways import PLACES, WAYS
from lumenmap.show.effects.registry import effects

EFFECTS = effects()
EACH = pytest.mark.parametrize("effect", EFFECTS.values(), ids=list(EFFECTS))
PALETTE = Palette("test", ["#dff3ff", "oklch(0.62 0.14 240)", "#06122e", "gold"])
DOT = Raster(
    np.random.default_rng(1).integers(0, 256, (3, 5, 7, 3), np.uint8),
    np.array([0.1, 0.3, 0.4]),
    "dot.gif",
)


def gable(spacing: float = 0.076) -> At:
    """Places on an invented front: an eave, two rakes, a post; the wire runs the far rake back."""
    edges = [
        [(0, 0, 2.7), (7.3, 0, 2.7)],
        [(0, 0, 2.7), (3.65, 0, 5.1)],
        [(7.3, 0, 2.7), (3.65, 0, 5.1)],
        [(7.3, 3, 0.2), (7.3, 3, 2.7)],
    ]
    xyz, along, lengths, wire, walked = [], [], [], [], []
    run = 0.0
    for i, (a, b) in enumerate(np.array(edges, float)):
        length = float(np.linalg.norm(b - a))
        d = np.arange(spacing / 2, length, spacing)
        order = d[::-1] if i == 2 else d
        xyz.append(a + (b - a) * (order / length)[:, None])
        along.append(order)
        lengths.append(np.full(len(d), length))
        wire.append(run + (length - order if i == 2 else order))
        walked.append(wire[-1] - i)  # as one walks: without the metre of jumper
        run += length + 1.0
    places = np.concatenate(xyz)
    n = len(places)
    return At(
        places,
        np.concatenate(wire),
        np.concatenate(along),
        np.concatenate(lengths),
        np.tile([0.0, -1.0, 0.0], (n, 1)),
        np.full(n, run),
        places.min(0),
        places.max(0),
        {"main/peak": np.array([3.65, 0, 5.1]), "main/front-left": np.array([0.0, 0, 2.7])},
        {
            "round": Distance(np.concatenate(walked), np.full(n, run - 4), run - 4),
            "once round": Distance(np.concatenate(walked), np.full(n, run - 4)),
        },
    )


AT = gable()
T = np.arange(-40, 120)[:, None] / 30


def part(at: At, rows) -> At:
    return at.part(np.arange(len(at.xyz))[rows])


def values(kind: options.Kind) -> st.SearchStrategy:
    """Anything that an option of this kind may be."""
    if isinstance(kind, options.Choice):
        return st.sampled_from(kind.names)
    if isinstance(kind, options.Way):
        return st.sampled_from([*WAYS, "from main/peak", "from bottom left"])
    if isinstance(kind, options.Corner):
        return st.sampled_from([*PLACES, *AT.corners])
    if isinstance(kind, options.Picture):
        return st.sampled_from([None, DOT])
    if isinstance(kind, options.Count):
        return st.integers(int(kind.low), int(kind.high))
    assert math.isfinite(kind.low) and math.isfinite(kind.high), "a range has two ends"
    numbers = st.floats(kind.low, kind.high) | st.sampled_from([kind.low, kind.high])
    return st.none() | numbers if kind.unset else numbers


def ask(effect, at=AT, t=T, palette=PALETTE, **given):
    return effect.function(at, t, palette, **{**effect.read({}), **given})


@EACH
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_light_is_light_whatever_the_options(effect, data):
    """(T, N, 3) float32, finite, 0..1, at any options in range and at times before the start."""
    given_ = {name: data.draw(values(s.kind), label=name) for name, s in effect.options.items()}
    t = T[:: data.draw(st.integers(1, 40))] * data.draw(st.sampled_from([1.0, 0.01, 977.0]))
    light = ask(effect, t=t, **given_)
    assert light.shape == (len(t), len(AT.xyz), 3)
    assert light.dtype == np.float32
    assert np.isfinite(light).all()
    assert light.min() >= 0
    assert light.max() <= 1 + 1e-6


@EACH
def test_light_at_a_place_depends_on_no_other_place(effect):
    whole = ask(effect)
    rng = np.random.default_rng(3)
    order = rng.permutation(len(AT.xyz))
    assert_array_equal(ask(effect, at=part(AT, order)), whole[:, order])
    for rows in ([0], [7, 3, 3, 50], slice(20, 61), rng.choice(len(order), 33)):
        assert_array_equal(ask(effect, at=part(AT, rows)), whole[:, rows])


@EACH
@pytest.mark.parametrize("step", [1, 7, 64])
def test_time_may_be_cut_anywhere(effect, step):
    cut = [ask(effect, t=T[i : i + step]) for i in range(0, len(T), step)]
    assert_array_equal(np.concatenate(cut), ask(effect))


@EACH
def test_frames_may_be_asked_in_any_order(effect):
    order = np.random.default_rng(5).permutation(len(T))
    assert_array_equal(ask(effect, t=T[order]), ask(effect)[order])


@EACH
def test_inputs_stay_untouched_and_every_answer_is_fresh(effect):
    at, t, table = gable(), T.copy(), PALETTE.table.copy()
    before = {
        n: np.copy(getattr(at, n)) for n in ("xyz", "along_line", "along_edge", "low", "high")
    }
    first = ask(effect, at=at, t=t)
    kept = first.copy()
    first[:] = -1  # the caller may do with it what it likes
    assert_array_equal(ask(effect, at=at, t=t), kept)
    for name, value in before.items():
        assert_array_equal(getattr(at, name), value)
    assert_array_equal(t, T)
    assert_array_equal(PALETTE.table, table)


@EACH
def test_no_places_and_a_single_instant(effect):
    assert ask(effect, t=T[:1]).shape == (1, len(AT.xyz), 3)
    assert ask(effect, at=part(AT, slice(0, 0))).shape == (len(T), 0, 3)


@EACH
@pytest.mark.parametrize("flat", [0, 1, 2])
def test_a_house_without_width_depth_or_height_is_lit_too(effect, flat):
    xyz = AT.xyz.copy()
    xyz[:, flat] = 1.0
    at = replace(AT, xyz=xyz, low=xyz.min(0), high=xyz.max(0))
    for way in WAYS:
        given_ = {n: way for n, s in effect.options.items() if isinstance(s.kind, options.Way)}
        light = ask(effect, at=at, t=T[::9], **given_)
        assert np.isfinite(light).all()


@EACH
def test_options_are_keyword_only_with_range_default_and_a_line_of_help(effect):
    assert effect.summary.endswith(".")
    for spec in effect.options.values():
        assert spec.kind.help
        assert "\n" not in spec.kind.help
        assert len(spec.kind.help) <= 90
        assert spec.default is None or spec.kind.text(spec.default, "ft")
        assert spec.kind.expected("ft")
    signature = inspect.signature(effect.function)
    assert [p.kind for p in signature.parameters.values()][:3] == [
        inspect.Parameter.POSITIONAL_ONLY
    ] * 3


@EACH
@pytest.mark.parametrize("unit", ["ft", "m"])
def test_what_help_prints_reads_back_as_the_default(effect, unit):
    for name, spec in effect.options.items():
        if spec.default is None or isinstance(spec.kind, options.Seed):
            continue
        written = (
            int(spec.default)
            if isinstance(spec.kind, options.Count)
            else spec.kind.text(spec.default, unit)
        )
        back = effect.read({name: written}, unit)[name]
        if isinstance(spec.kind, options.Word):
            assert back == spec.default
        else:
            assert back == pytest.approx(spec.default, rel=1e-3)


@EACH
def test_one_stop_is_a_palette(effect):
    assert np.isfinite(ask(effect, palette=Palette("one", ["gold"]))).all()


def test_an_option_of_one_name_is_one_kind_of_thing_in_every_effect():
    """``spread`` was a speed here and a distance there, ``rise`` a time and a speed."""
    kinds: dict[str, dict[type, list[str]]] = {}
    for effect in EFFECTS.values():
        for name, spec in effect.options.items():
            kinds.setdefault(name, {}).setdefault(type(spec.kind), []).append(effect.name)
    assert {name: found for name, found in kinds.items() if len(found) > 1} == {}


def test_how_dark_the_dark_is_has_one_name():
    """It had five: ``least``, ``trough``, ``above``, ``depth`` and ``contrast``."""
    names = {name for effect in EFFECTS.values() for name in effect.options}
    assert "least" in names
    assert not names & {"trough", "above", "depth", "contrast"}


def test_enough_effects():
    assert len(EFFECTS) >= 16
    assert {"chase", "gradient"} <= set(EFFECTS)


def test_each_file_is_short(request):
    folder = request.config.rootpath / "effects"
    files = list(folder.rglob("[!_]*.py"))
    assert len(files) == len(EFFECTS)
    for path in files:
        assert len(path.read_text().splitlines()) <= 80, path.name
