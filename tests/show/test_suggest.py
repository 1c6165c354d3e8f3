import pytest

from lumenmap.show.palettes import named, shelf
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
        ("christmas", '"fir-and-berry"?'),
        ("4th-of-july", 'did you mean "three-cheers"?'),
        ("halloween", 'did you mean "jack-o-lantern"?'),
        ("frst", 'did you mean "frost"?'),
        ("qqq", "lumenmap palette list"),
    ],
)
def test_palettes_by_their_occasion(name, meant):
    assert meant in no_palette(name, shelf().names)


@pytest.mark.parametrize(
    ("word", "leads_to"),
    [
        ("birthday", "paper-streamers"),
        ("wedding", "veil-and-rose"),
        ("newborn", "first-cradle"),
        ("club", "red-white-scarf"),
        ("Epiphany", "three-kings"),
        ("orthodox christmas", "january-nativity"),
        ("rosh hashanah", "apple-and-honey"),
        ("purim", "merry-masks"),
        ("vaisakhi", "harvest-drum"),
        ("eid al-adha", "lantern-courtyard"),
        ("krathong", "river-candles"),
        ("remembrance", "poppy-field"),
        ("solstice", "longest-night"),
        ("awareness", "pink-october"),
        ("norway", "fjord-parade"),
        ("INDIA", "saffron-wheel"),
        ("xmas", "fir-and-berry"),
        ("aurora", "northern-sky"),
        ("rainbow", "spectrum"),
    ],
)
def test_plain_words_lead_to_palettes(word, leads_to):
    assert leads_to in [row["name"] for row in named(word=word)]
    assert len(named(word=word)) < 20
    assert not named(word="qqqq")
