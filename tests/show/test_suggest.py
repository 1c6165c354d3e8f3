import pytest

from lumenmap.show.palettes import known
from lumenmap.show.registry import effects
from lumenmap.show.suggest import no_effect, no_palette


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("fireworks", "perhaps skyburst: "),
        ("sparks", "perhaps skyburst: "),
        ("snowflakes", "perhaps flakefall: "),
        ("flames", "perhaps hearth: "),
        ("chas", 'did you mean "chase"'),
        ("qqq", 'no effect "qqq". lumenmap effects lists them all'),
    ],
)
def test_effects_by_what_they_do(name, meant):
    said = no_effect(name, effects())
    assert meant in said
    assert said.endswith("one of your own needs --effects FOLDER")


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("xmas", 'did you mean "fir-and-berry"?'),
        ("christmas", 'did you mean "fir-and-berry"?'),
        ("4th-of-july", 'did you mean "three-cheers"?'),
        ("halloween", 'did you mean "jack-o-lantern"?'),
        ("frst", 'did you mean "frost"?'),
        ("qqq", "lumenmap palette list"),
    ],
)
def test_palettes_by_their_occasion(name, meant):
    assert meant in no_palette(name, known())
