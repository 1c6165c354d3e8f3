"""A layer that changes nothing is found and named, and no other is."""

import re

import pytest

from lumenmap.frames.idle import idle
from lumenmap.jobs.export import check
from lumenmap.jobs.project import load

SHOW = '[show]\nname = "Layers"\nhouse = "house.toml"\nlength = 4\nfps = 20\n'
BRIEFLY = 'opacity = { at = ["2.0 s", "2.05 s", "2.1 s"], to = [0, 1, 0] }\n'


def layers(*texts):
    return SHOW + "[[cue]]\n" + "".join(texts)


def layer(palette, effect="still", more=""):
    return f'[[cue.layer]]\neffect = "{effect}"\npalette = "{palette}"\n{more}'


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            layers(layer("ember", "chase"), layer("white")),
            'cue 1, layer 1, effect "chase", changes nothing in the picture: layers after it cover',
        ),
        (
            layers(layer("white"), layer("black")).replace("black", "#000", 1)
            + 'blend = "screen"\n',
            'cue 1, layer 2, effect "still", changes nothing in the picture: its own light is black',
        ),
        (
            layers(layer("white"), layer("ember", more="opacity = 0\n")),
            "cue 1, layer 2, .* look at its opacity",
        ),
        (
            layers(layer("white"), layer("ember", more='blend = "lighten"\n')),
            'cue 1, layer 2, .* or its blend "lighten" leaves what is there',
        ),
    ],
)
def test_a_layer_that_changes_nothing(lay, text, says):
    found = idle(lay(text).plan)
    assert len(found) == 1
    assert re.match(says, found[0])


@pytest.mark.parametrize(
    "text",
    [
        layers(layer("ember", "chase")),
        layers(layer("ember", "chase"), layer("white", more='on = ["porch"]\n')),
        layers(layer("white"), layer("ember", more='blend = "multiply"\n')),
        # Lit for a tenth of a second, which falls between the moments looked at first.
        layers(layer("white"), layer("ember", more=BRIEFLY)),
    ],
)
def test_layers_that_change_something(lay, text):
    assert idle(lay(text).plan) == []


def test_check_names_it(examples, tmp_path):
    house = (examples / "kelder-studio" / "house.toml").read_text()
    (tmp_path / "house.toml").write_text(house)
    (tmp_path / "show.toml").write_text(layers(layer("ember", "chase"), layer("white")))
    notes = check(load(tmp_path / "show.toml"))["notes"]
    assert any("cue 1, layer 1" in n and "changes nothing in the picture" in n for n in notes)
