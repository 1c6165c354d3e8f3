"""Show files: what they may say beside effects, and each mistake in one clear line."""

import pickle
import re
from dataclasses import fields

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.motion.easing import easing
from lumenmap.show.effects.specs import RESERVED
from lumenmap.show.layer_file import LayerTable
from lumenmap.show.load import load_show

GOOD = """
[show]
unit = "ft"
length = "12 beats"
tempo = 90
cross = "1 beat"
[palette.own]
stops = ["red", { colour = "oklch(0.7 0.15 240)", at = 0.4 }, "gold"]
space = "oklch"
hue = "longer"
[[cue]]
name = "all"
fade = "1 s"
easing = "cubic-bezier(0.4, 0, 0.6, 1)"
[[cue.layer]]
effect = "chase"
palette = "own"
speed = "3 ft/beat"
spacing = 2
way = "from main/peak-front"
within = { across = [0, "10 ft"], up = ["8 ft", "20 ft"] }
delay = "1 beat"
pace = -2
palette_at = "40 %"
turns = { parts = 4, every = "1 beat", fade = "0.1 s" }
envelope = { at = ["0 s", "1 beat"], level = [0, 1], easing = "steps(4)", repeat = true }
"""


@pytest.fixture
def load(tmp_path):
    def loaded(text: str, *folders):
        (tmp_path / "show.toml").write_text(text)
        return load_show(tmp_path / "show.toml", effect_folders=folders)

    return loaded


def test_everything_in_si(load):
    show = load(GOOD)
    layer = show.cues[0].layers[0]
    beat = 60 / 90
    assert show.seconds == pytest.approx(8)
    assert show.cross == pytest.approx(beat)
    assert layer.options["speed"] == pytest.approx(3 * 0.3048 / beat)
    assert layer.options["spacing"] == pytest.approx(0.6096)
    assert "seed" not in layer.options
    assert layer.within == (
        (0, 0.0, pytest.approx(3.048)),
        (2, pytest.approx(2.4384), pytest.approx(6.096)),
    )
    assert (layer.delay, layer.pace) == (pytest.approx(beat), -2)
    assert layer.envelope.at == (0, pytest.approx(beat))
    assert layer.palette.space == "oklch"
    assert [s.at for s in layer.palette.stops] == pytest.approx([0, 0.4, 0.7])


def test_the_layers_own_keys_are_reserved():
    keys = {field.alias or name for name, field in LayerTable.model_fields.items()}
    assert keys == RESERVED


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            '"chase"',
            '"chse"',
            r'cue "all", layer 1, effect: no effect "chse"; did you mean "chase"',
        ),
        ('"own"', '"won"', r'layer 1, palette: no palette "won"; did you mean "own"'),
        (
            "speed =",
            "sped =",
            r'layer 1, sped: chase has no such option; did you mean "speed"\? Options: ',
        ),
        ('"3 ft/beat"', '"300 ft/s"', r"layer 1, speed: is 300 ft/s; expected -90 ft/s to 90 ft/s"),
        ('"3 ft/beat"', '"3 ft/beet"', r"layer 1, speed"),
        ("spacing = 2", "spacing = nan", r"layer 1, spacing.*finite"),
        ("spacing = 2", "spacing = true", r"layer 1, spacing: is true; expected 1 in to 300 ft"),
        (
            "spacing = 2",
            'blend = "scren"',
            r'layer 1, blend: is "scren"; did you mean "screen"',
        ),
        ("spacing = 2", "opacity = 1.5", r"opacity"),
        ('way = "from', 'way = "frm', r'layer 1, way: no way "frm main/peak-front"'),
        ("tempo = 90", "tempo = 9", "show.tempo"),
        ("tempo = 90\n", "", "the show has no tempo; write tempo = 120"),
        (
            'cross = "1 beat"',
            'cross = "10 beats"',
            "show.cross: is 6.67 s; expected half the show, 4 s, or less",
        ),
        (
            'fade = "1 s"',
            'fade = "5 s"',
            'cue "all", fade: the fades take 10 s, but the cue is only 8 s long',
        ),
        ("cubic-bezier(0.4", "cubic-bezier(4", "easing.*isn.t valid in CSS Easing Functions"),
        ("steps(4)", "stepz(4)", r"envelope.easing.*no easing"),
        ("level = [0, 1]", "level = [0]", "envelope: has 2 times but 1 value"),
        ("level = [0, 1]", "level = [0, 1, 0]", "has 2 times but 3 values"),
        ('at = ["0 s", "1 beat"]', 'at = ["1 s", "0 s"]', "envelope.at: the times don't rise"),
        (
            'up = ["8 ft", "20 ft"]',
            'up = ["20 ft", "8 ft"]',
            r"within.up: expected the lower end first",
        ),
        ('up = ["8 ft", "20 ft"]', "height = [1, 2]", r"within.height: no such key"),
        ("pace = -2", "pace = 1e9", "pace"),
        ('delay = "1 beat"', 'delay = "-1 s"', "it can't be negative"),
        ('"gold"', '"gild"', r'palette.own.stops item 3: no colour "gild"; did you mean "gold"'),
        ("at = 0.4", "at = 4", r"palette.own.stops item 2: its position is 4; expected 0 to 1"),
        ('hue = "longer"', 'hue = "long"', "palette.own.hue"),
        ('length = "12 beats"', 'length = "12 fortnights"', 'show.length.*no unit "fortnights"'),
        ('length = "12 beats"', 'length = "100000 h"', "show.length"),
        ("[[cue]]", "[[cues]]", 'no such key; did you mean "cue"'),
    ],
)
def test_each_mistake_is_one_clear_line(load, old, new, says):
    assert old in GOOD
    with pytest.raises(InputError, match=says) as caught:
        load(GOOD.replace(old, new, 1))
    assert all(line.startswith("show.toml: ") for line in str(caught.value).splitlines())
    assert str(caught.value).startswith("show.toml: ")


def test_a_picture_beside_the_show(load, tmp_path):
    from PIL import Image

    Image.new("RGB", (8, 4), "red").save(tmp_path / "red.png")
    text = '[show]\nlength = "1 s"\n[[cue]]\n[[cue.layer]]\neffect = "picture"\nfile = "red.png"\n'
    assert load(text).cues[0].layers[0].options["file"].srgb.shape == (1, 4, 8, 3)
    with pytest.raises(InputError, match=r"layer 1, file: is \"../x.png\", outside the folder"):
        load(text.replace("red.png", "../x.png"))


def test_every_field_of_a_layer_is_read(load):
    layer = load(GOOD).cues[0].layers[0]
    timed = load(GOOD.replace('speed = "3 ft/beat"', 'over = "6 s"')).cues[0].layers[0]
    read = {f.name: getattr(timed if f.name == "passage" else layer, f.name) for f in fields(layer)}
    assert read.pop("beats") is None  # only with a sound: tests/sound/test_shows.py
    assert all(value is not None for value in read.values())


def test_all_mistakes_of_a_show_at_once_each_with_its_line(load):
    with pytest.raises(InputError) as caught:
        load(
            '[show]\nlength = "8 s"\ncross = "6 s"\nhouse = "../house.toml"\n'
            '[palette.own]\nstops = ["red", "gild"]\n[[cue]]\nstart = "9 s"\n[[cue.layer]]\n'
            'effect = "chse"\n[[cue.layer]]\neffect = "chase"\npalette = "own"\nsped = 1\n'
        )
    said = str(caught.value).splitlines()
    wanted = [
        'palette.own.stops item 2: no colour "gild".*line 6',
        "show.cross: is .*; expected half the show, .*line 3",
        'show.house: is "../house.toml", outside.*line 4',
        "cue 1, start: starts at 9 s.*line 8",
        'cue 1, layer 1, effect: no effect "chse".*line 10',
        "cue 1, layer 2, sped: chase has no such option.*line 14",
    ]
    assert len(said) == len(wanted), said
    for line, pattern in zip(said, wanted, strict=True):
        assert re.search(pattern, line), (line, pattern)


def test_an_easing_is_a_function_from_loading_on(load):
    text = '[show]\nlength = "8 s"\n[[cue]]\neasing = "steps(2)"\n[[cue.layer]]\neffect = "still"\n'
    cue = load(text).cues[0]
    assert cue.easing(np.array([0.2, 0.7])).tolist() == [0.0, 0.5]
    assert pickle.loads(pickle.dumps(cue)).easing(np.array([0.7])).tolist() == [0.5]
    with pytest.raises(InputError, match='easing: is 3; expected an easing such as "ease-in-out"'):
        load(text.replace('"steps(2)"', "3"))


@pytest.mark.parametrize("name", ["linear", "ease", "steps(3)", "linear(0, 0.3, 1)", "step-end"])
def test_every_easing_travels_to_a_worker(name):
    x = np.linspace(0, 1, 7)
    assert np.array_equal(pickle.loads(pickle.dumps(easing(name)))(x), easing(name)(x))


def test_a_house_given_for_a_show(load):
    with pytest.raises(InputError, match="is a house file; this command takes a show file"):
        load("[house]\nname = 'x'\n")


def test_the_old_name_of_an_effect_leads_to_its_new_one(load):
    text = '[show]\nlength = "8 s"\n[[cue]]\n[[cue.layer]]\neffect = "streak"\n'
    with pytest.raises(InputError, match='effect: the effect "streak" is now called "brightwake"'):
        load(text)
    assert load(text.replace("streak", "brightwake")).cues[0].layers[0].effect.name == "brightwake"


def test_a_show_whose_house_lies_outside_its_folder_plays_on_another(tmp_path, examples):
    """No file opens what lies outside its folder; the person at the command line may."""
    from lumenmap.jobs.project import load

    cottage = examples / "alder-cottage"
    text = (cottage / "first-frost.toml").read_text("utf-8")
    show = tmp_path / "shows" / "frost.toml"
    show.parent.mkdir()
    show.write_text(text.replace('"house.toml"', '"../house.toml"'), "utf-8")
    with pytest.raises(InputError, match=r'show.house: is "../house.toml", outside the show'):
        load(show)
    assert load(show, house=cottage / "house.toml").site.house.name == "Alder Cottage"


def test_mistakes_of_the_tables_and_of_what_they_name_come_together(tmp_path):
    """A key that isn't one doesn't hide an effect that isn't one; lists keep their other items."""
    show = tmp_path / "show.toml"
    show.write_text(
        '[show]\nlength = "4 s"\nfsp = 30\n[[cue]]\n[[cue.layer]]\neffect = "stil"\n'
        '[[cue.layer]]\neffect = "still"\nlevel = 7\non = [3, 4]\n'
        '[[cue.layer]]\neffect = "still"\npalette = "nope"\n'
    )
    with pytest.raises(InputError) as caught:
        load_show(show)
    found = {(one.key, one.line) for one in caught.value.each}
    assert found == {
        ("show.fsp", 3),
        ("cue 1, layer 1, effect", 6),
        ("cue 1, layer 2, level", 9),
        ("cue 1, layer 2, on item 1", 10),
        ("cue 1, layer 2, on item 2", 10),
        ("cue 1, layer 3, palette", 13),
    }
