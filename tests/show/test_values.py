"""Values from outside, and a show's defaults."""

import pytest

from lumenmap.core.errors import InputError
from lumenmap.show.load import load_show
from lumenmap.show.values import read_set

SHOW = """
[show]
length = "{seconds} s"
[values]
candles = 1
seconds = 12
half = 0.5
[[cue]]
name = "night {candles}"
[[cue.layer]]
effect = "turnbeam"
beams = "{candles + 1}"
opacity = "{half}"
angle = "{candles * 20} deg"
delay = "{half} s"
"""


@pytest.fixture
def load(tmp_path):
    def loaded(text: str = SHOW, **values):
        (tmp_path / "show.toml").write_text(text)
        return load_show(tmp_path / "show.toml", values=values)

    return loaded


def test_a_value_stands_wherever_a_number_or_a_text_may(load):
    show = load()
    (cue,) = show.cues
    (layer,) = cue.layers
    assert show.seconds == 12
    assert cue.name == "night 1"
    assert layer.options["beams"] == 2
    assert layer.opacity == layer.delay == 0.5
    assert layer.options["angle"] == pytest.approx(20 * 3.141592653589793 / 180)


def test_values_from_outside_take_the_place_of_the_files(load):
    show = load(candles=3, seconds=6)
    assert (show.seconds, show.cues[0].name) == (6, "night 3")
    assert show.cues[0].layers[0].options["beams"] == 4


def test_braces_mean_nothing_in_a_show_without_values(load):
    show = load('[show]\nlength = 2\n[[cue]]\nname = "{x}"\n[[cue.layer]]\neffect = "still"\n')
    assert show.cues[0].name == "{x}"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            "{candles + 1}",
            "{candels + 1}",
            r'layer 1, beams: no value "candels"; did you mean "candles"',
        ),
        ("{candles + 1}", "{candles / 0}", r"layer 1, beams: \{candles / 0\} divides by 0"),
        ("{candles + 1}", "{half}", "layer 1, beams: is 0.5; expected a whole number"),
        ("{candles + 1}", "{candles * 40}", "layer 1, beams: is 40; expected 1 to 12"),
        ("candles = 1", 'candles = "one"', 'values.candles: is "one"; expected a number'),
        ("candles = 1", "candles = nan", "values.candles"),
    ],
)
def test_mistakes_of_values_are_said(load, old, new, says):
    with pytest.raises(InputError, match=says):
        load(SHOW.replace(old, new))


def test_a_value_that_the_show_doesnt_have_is_refused(load):
    with pytest.raises(InputError, match='no value "candle"; did you mean "candles"'):
        load(candle=3)
    bare = '[show]\nlength = 2\n[[cue]]\n[[cue.layer]]\neffect = "still"\n'
    with pytest.raises(InputError, match=r"the show has no \[values\] table"):
        load(bare, candles=3)


def test_values_of_the_command_line():
    assert read_set(["candles=3", " level = 0.5"]) == {"candles": 3, "level": 0.5}
    assert read_set(None) == {}
    for bad in ("candles", "candles=", "=3", "candles=three", "candles=nan", "candles=inf"):
        with pytest.raises(InputError, match="isn't a value; expected name=number"):
            read_set([bad])


DEFAULTS = """
[show]
length = "12 s"
[defaults]
palette = "ember"
speed = "2 m/s"
clock = "show"
cue = { fade = "1 s", easing = "ease-in" }
[[cue]]
[[cue.layer]]
effect = "chase"
[[cue.layer]]
effect = "gradient"
palette = "frost"
speed = "1 m/s"
[[cue]]
fade = "2 s"
[[cue.layer]]
effect = "still"
"""


def test_defaults_hold_for_every_layer_that_doesnt_say_otherwise(load):
    one, two = load(DEFAULTS).cues
    chase, gradient = one.layers
    assert (chase.palette.name, gradient.palette.name) == ("ember", "frost")
    assert (chase.options["speed"], gradient.options["speed"]) == (2, 1)
    assert {layer.clock for layer in (*one.layers, *two.layers)} == {"show"}
    assert (one.fade_in, two.fade_in) == (1, 2)
    assert "speed" not in two.layers[0].options, "still has no speed"
    assert one.easing is two.easing


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("speed =", "sped =", 'defaults.sped: no layer has such a key.*did you mean "speed"'),
        ('"2 m/s"', '"2 m"', 'defaults.speed: is "2 m"'),
        ('fade = "1 s"', 'fads = "1 s"', 'defaults.cue.fads: no such key; did you mean "fade"'),
    ],
)
def test_mistakes_of_defaults_are_said(load, old, new, says):
    with pytest.raises(InputError, match=says):
        load(DEFAULTS.replace(old, new, 1))
