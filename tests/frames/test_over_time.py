"""What the show language says about time: clocks, passages, ramps, fades, seeds."""

import numpy as np
import pytest
from PIL import Image
from scipy.signal import welch

from lumenmap.core.errors import InputError
from lumenmap.frames.fades import fades
from lumenmap.frames.render import render, render_block
from lumenmap.motion.easing import easing
from lumenmap.motion.shapes import lightness
from lumenmap.show.load import load_show
from lumenmap.show.model import Cue
from tests.frames.shows import one


def light(work, start=0, stop=None):
    return np.concatenate(list(render(work.plan, start, stop)))


def moved(text, start):
    return text.replace("[[cue]]", f'[[cue]]\nstart = "{start} s"', 1)


MOVING = {"palette": '"spectrum"', "speed": '{ from = "2 ft/s", to = "9 ft/s", over = "2 s" }'}


@pytest.mark.parametrize("effect", ["chase", "gradient"])
def test_moving_a_cue_moves_all_that_is_in_it(lay, effect):
    extra = 'opacity = { from = 0.2, to = 1, over = "1 s" }\n'
    text = one(effect, 6, **MOVING) + f"\n{extra}"
    early, late = light(lay(text)), light(lay(moved(text, 2)))
    assert (late[80:] == early[:160]).all()
    assert late[:80].max() == 0


def test_the_shows_clock_on_request(lay):
    text = one("chase", 6, palette='"spectrum"', clock='"show"')
    assert (light(lay(moved(text, 2)), 80) == light(lay(text), 80)).all()
    other = light(lay(moved(text.replace('clock = "show"', ""), 2)), 80)
    assert (other != light(lay(text), 80)).any()


def test_a_speed_that_changes_never_jumps_and_adds_up(lay):
    """A gradient's phase after 4 s is the mean speed's, to a table's step."""
    ramped = lay(
        one(
            "gradient",
            6,
            palette='"spectrum"',
            length='"20 ft"',
            speed='{ from = "1 ft/s", to = "9 ft/s", over = "4 s" }',
        )
    )
    even = lay(one("gradient", 6, palette='"spectrum"', length='"20 ft"', speed='"5 ft/s"'))
    assert render_block(ramped.plan, 160, 161) == pytest.approx(
        render_block(even.plan, 160, 161), abs=0.02
    )
    assert np.abs(np.diff(light(ramped), axis=0)).max() < 0.15


def test_what_an_effect_takes_as_a_plain_number_changes_frame_by_frame(lay, tmp_path):
    """A picture's width: the effect is asked for each run of frames in which it stays the same."""
    Image.fromarray(np.full((4, 4, 3), 255, np.uint8)).save(tmp_path / "white.png")
    wider = '{ from = "12 ft", to = "30 ft", over = "1 s", after = "0.5 s" }'
    work = lay(one("picture", 2, file='"white.png"', fit='"contain"', width=wider))
    whole = light(work)
    each = [render_block(work.plan, k, k + 1) for k in range(work.show.frames)]
    assert (whole == np.concatenate(each)).all()
    lit = (whole > 0).any(axis=2).sum(axis=1)
    assert 0 < lit[0] < lit[-1] and (np.diff(lit) >= 0).all()


@pytest.mark.parametrize(
    ("effect", "options"),
    [("chase", {"spacing": "3"}), ("swell", {}), ("rings", {})],
)
def test_a_passage_happens_once_then_it_is_dark_or_held(lay, effect, options):
    text = one(effect, 6, palette='"spectrum"', over='"2 s"', times=1, **options)
    dark, held = light(lay(text)), light(lay(text + '\nthen = "held"\n'))
    assert dark[:80].max() > 0.5
    assert dark[80:].max() == 0
    assert (held[:80] == dark[:80]).all()
    assert (held[81:] == held[81]).all()
    twice = light(lay(text.replace("times = 1", "times = 2")))
    assert twice[80:160].max() > 0.5
    assert twice[160:].max() == 0


def test_over_passes_the_whole_way_in_its_time(lay):
    """A head that crosses the house in 2 s is at its places in proportion to the time."""
    text = one(
        "brightwake", 3, way='"across"', over='"2 s"', times=1, spacing='"1000 ft"', tail='"1 ft"'
    )
    work = lay(text)
    x = work.site.pixels.xyz[:, 0] - work.site.pixels.xyz[:, 0].min()
    for share in (0.2, 0.5, 0.8):
        frame = render_block(work.plan, round(80 * share), round(80 * share) + 1)[0].max(-1)
        assert x[frame > 0.9].max() / x.max() == pytest.approx(share, abs=0.02)


@pytest.mark.parametrize(
    ("effect", "options", "says"),
    [
        ("still", {"over": '"2 s"'}, 'over: the effect "still" has no passage'),
        ("chase", {"over": '"2 s"', "speed": 1}, "over: stands for `speed`; give one of the two"),
        ("chase", {"over": '"0 s"'}, "over: is 0 s; expected a time above 0"),
        (
            "chase",
            {"over": '"0.01 s"'},
            r"layer 1, over: is 0.01 s for \d+ ft( \d+ in)?, \d+ ft/s; expected -90 ft/s",
        ),
        ("swell", {"over": '"0.1 s"'}, "over: is 0.1 s; swell takes 0.7 s to 3600 s"),
        ("chase", {"times": 2}, "times: needs `over`"),
        (
            "skyburst",
            {"every": '{ from = "1 s", to = "2 s", over = "9 s" }'},
            "every: can't change over time; expected 1 s to 600 s",
        ),
        ("chase", {"way": '{ from = 0, to = 1, over = "9 s" }'}, "way: can't change over time"),
        ("chase", {"speed": '{ at = ["0 s"] }'}, "speed: a ramp needs `to`"),
        (
            "chase",
            {"opacity": '{ from = 0, to = 2, over = "1 s" }'},
            "opacity: value 2 is 2; expected 0 to 1",
        ),
        ("chase", {"envelope": "0.5"}, "envelope: is 0.5; expected { at"),
    ],
)
def test_mistakes_about_time_are_said(lay, effect, options, says):
    with pytest.raises(InputError, match=says):
        lay(one(effect, 4, **options))


def test_a_whole_house_in_one_colour_that_travels_through_the_palette(lay):
    text = one("chase", 8, palette='"spectrum"', palette_at='{ from = 0, to = 0.75, over = "8 s" }')
    work = lay(text)
    palette = work.plan.tiles[0].cues[0].layers[0].layer.palette
    frames = light(work)
    for frame in (0, 100, 250, 310):
        lit = frames[frame][frames[frame].max(-1) > 0.2]
        hue = lit / lit.max(-1, keepdims=True)
        own = palette(np.array([0.75 * frame / 320]))[0]
        if work.plan.balance is not None:
            own = own * work.plan.balance
        assert hue == pytest.approx(np.broadcast_to(own / own.max(), hue.shape), abs=0.02)


def test_an_envelope_of_earlier_versions_still_loads_and_means_the_same(lay):
    old = 'envelope = { at = ["0 s", "1 s"], level = [0, 1], easing = "ease", repeat = true }'
    new = 'envelope = { from = 0, to = 1, over = "1 s", easing = "ease", repeat = true }'
    text = one("still", 3, level=1)
    assert (light(lay(f"{text}\n{old}\n")) == light(lay(f"{text}\n{new}\n"))).all()


# Faults that were there once.


@pytest.mark.parametrize("name", ["linear", "ease", "ease-in", "ease-out", "ease-in-out"])
def test_a_crossfade_adds_up_to_one_all_the_way(name):
    """With ease it reached 1.605 in the middle, with ease-in it fell to 0.631."""
    t = np.arange(0, 10, 0.05)[:, None]
    out = Cue("out", 0.0, 6.0, 0.0, 4.0, (), easing(name))
    into = Cue("in", 2.0, 8.0, 4.0, 0.0, (), easing(name))
    total = (fades(out, t) + fades(into, t))[t[:, 0] < 9.99]
    assert total == pytest.approx(np.ones_like(total), abs=1e-9)


def test_a_fade_out_has_its_own_curve_and_not_the_fade_ins_backwards():
    """CSS Easing: ease-in starts slowly, so a fade-out that eases in begins slowly too."""
    cue = Cue("c", 0.0, 4.0, 0.0, 4.0, (), easing("ease-in"))
    assert fades(cue, np.array([[1.0]]))[0, 0] > 0.85


def test_fades_are_even_to_the_eye_on_request():
    cue = Cue("c", 0.0, 10.0, 4.0, 4.0, (), even=True)
    seen = lightness(fades(cue, np.array([[1.0], [2.0], [3.0], [7.0], [8.0], [9.0]])))[:, 0]
    assert seen == pytest.approx([0.25, 0.5, 0.75, 0.75, 0.5, 0.25])


GLINTS = '[[cue.layer]]\neffect = "glint"\npalette = "frost"\n'
HEARTH = '[[cue.layer]]\neffect = "hearth"\npalette = "ember"\n'


def seeds(work):
    return {p.layer.key: p.options.get("seed") for c in work.plan.tiles[0].cues for p in c.layers}


def show(*layers):
    return '[show]\nhouse = "house.toml"\nlength = "2 s"\n[[cue]]\n' + "".join(layers)


def test_a_layer_put_in_front_leaves_the_others_patterns_alone(lay):
    before = seeds(lay(show(GLINTS, HEARTH)))
    still = '[[cue.layer]]\neffect = "murmur"\n'
    after = seeds(lay(show(still, GLINTS, HEARTH)))
    assert after["cue 1, layer 2"] == before["cue 1, layer 1"]
    assert after["cue 1, layer 3"] == before["cue 1, layer 2"]
    swapped = seeds(lay(show(HEARTH, GLINTS)))
    assert swapped["cue 1, layer 1"] == before["cue 1, layer 2"]


def test_layers_that_are_alike_still_differ_and_a_name_keeps_a_pattern(lay):
    alike = seeds(lay(show(GLINTS, GLINTS, GLINTS)))
    assert len(set(alike.values())) == 3
    named = seeds(lay(show(GLINTS + 'name = "stars"\n')))
    changed = GLINTS.replace("frost", "ember") + 'name = "stars"\non = ["main/*"]\n'
    assert set(seeds(lay(show(changed))).values()) == set(named.values())
    assert set(alike.values()).isdisjoint(named.values())


def test_a_loop_that_ends_off_the_beat_is_said(tmp_path):
    """24 beats at 128 a minute are 11.25 s: 337.5 frames of 1/30 s."""
    file = tmp_path / "show.toml"
    text = '[show]\nlength = "24 beats"\ntempo = 128\nfps = 30\n[[cue]]\n[[cue.layer]]\neffect = "still"\n'
    file.write_text(text)
    (note,) = load_show(file).notes
    assert note == (
        "24 beats last 11.25 s, but 338 frames last 11.2667 s, so each loop ends 16.7 ms late; "
        "32 frames/s would fit"
    )
    for fitting in ("fps = 32", "fps = 40"):
        file.write_text(text.replace("fps = 30", fitting))
        assert load_show(file).notes == ()


def test_hearth_hardly_flickers_above_three_hertz_even_at_its_quickest(lay):
    """With slowest = 0.5 s, 40 % of its change was above 3 Hz, where seizures begin."""
    work = lay(one("hearth", 60, slowest='"0.5 s"', palette='"one"'))
    level = light(work)[:, ::20].max(-1)
    f, p = welch(level - level.mean(0), 40.0, nperseg=512, axis=0)
    assert p[f > 3].sum() / p.sum() < 0.05


def test_a_passage_that_is_held_counts_its_delay(lay):
    text = one(
        "chase", 6, palette='"spectrum"', over='"2 s"', times=1, then='"held"', delay='"1 s"'
    )
    held, plain = light(lay(text)), light(lay(text.replace('delay = "1 s"', "")))
    assert (held[121:] == held[121]).all()
    assert (held[40:120] == plain[:80]).all()
    assert (held[119] != held[125]).any()
