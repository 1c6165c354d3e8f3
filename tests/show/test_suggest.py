"""Names found by the words that families type, by spelling, and by what things are for."""

import pytest

from lumenmap.show.effects.registry import effects
from lumenmap.show.palette_words import PALETTE_WORDS
from lumenmap.show.palettes import named, shelf
from lumenmap.show.suggest import effects_for, no_effect, no_palette, palettes_for

KNOWN = effects()

#: Our own choice of what families call what they want to see, and the effect that does it.
WORDS = {
    "fire": "hearth",
    "candles": "hearth",
    "flickering": "hearth",
    "snow": "flakefall",
    "falling snow": "flakefall",
    "comet": "brightwake",
    "meteor": "brightwake",
    "shooting star": "starfall",
    "wipe": "unroll",
    "solid": "still",
    "plain white": "still",
    "breathe": "swell",
    "breathing": "swell",
    "rain": "eavesdrip",
    "icicles": "eavesdrip",
    "dripping": "eavesdrip",
    "twinkle": "glint",
    "sparkles": "glint",
    "fireworks": "skyburst",
    "rainbow": "gradient",
    "colorwheel": "gradient",
    "water": "lagoon",
    "lightning": "summerstorm",
    "thunder storm": "summerstorm",
    "ripples": "rings",
    "bouncing balls": "rebound",
    "waving flag": "windflag",
    "heartbeat": "doublebeat",
    "candy cane": "bands",
    "northern lights": "northlight",
    "lighthouse": "turnbeam",
    "spooky eyes": "peepers",
}


def test_enough_words():
    assert len(WORDS) == 32


@pytest.mark.parametrize(("word", "meant"), WORDS.items())
def test_a_plain_word_leads_to_the_effect_that_looks_like_it(word, meant):
    found = effects_for(word, KNOWN)
    assert found[:1] == [meant]
    assert f"perhaps {meant}: " in no_effect(word, KNOWN)


@pytest.mark.parametrize(("word", "meant"), [("fire", "hearth"), ("Snow", "flakefall")])
def test_the_command_describes_what_a_word_leads_to(lumenmap, word, meant):
    done = lumenmap("effects", word)
    assert done.code == 0
    assert done.out.startswith(f'"{word}" is {meant}\n')
    assert f"{meant}: {KNOWN[meant].summary}" in done.out
    assert lumenmap("effects", meant).out in done.out


def test_a_word_that_several_effects_list_names_them_all(lumenmap):
    done = lumenmap("effects", "curtain opening")
    assert done.code == 0
    assert "unroll" in done.out
    lumenmap("effects", "qqq").fails(2, 'no effect "qqq"')


def test_a_misspelt_word_leads_there_too(lumenmap):
    lumenmap("effects", "twinkel").fails(2, 'no effect "twinkel"; perhaps glint: ')
    lumenmap("effects", "flakefal").fails(2, 'did you mean "flakefall"')
    assert "perhaps" not in lumenmap("effects", "zzyzx").err


def test_every_effect_lists_words_and_the_listing_shows_none_twice():
    for effect in KNOWN.values():
        assert len(effect.words) >= 5, effect.name
        assert len(set(effect.words)) == len(effect.words), effect.name
        assert effect.name in effects_for(effect.words[0], KNOWN)
        assert "Found by" not in effect.summary


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("chse", 'did you mean "chase"'),
        ("hearht", 'did you mean "hearth"'),
        ("qqq", 'no effect "qqq". lumenmap effects lists them all'),
        ("", 'no effect ""'),
    ],
)
def test_spelling_comes_after_words(name, meant):
    said = no_effect(name, KNOWN)
    assert meant in said
    assert said.endswith("one of your own needs --effects FOLDER")


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("xmas", "fir-and-berry"),
        ("christmas", "fir-and-berry"),
        ("4th-of-july", "three-cheers"),
        ("red white and blue", "three-cheers"),
        ("halloween", "jack-o-lantern"),
        ("pumpkins", "jack-o-lantern"),
        ("warm white", "lamp-white"),
        ("valentines", "love-letter"),
        ("st patricks", "clover-hill"),
        ("chinese new year", "red-packet"),
        ("fire", "ember"),
        ("menorah", "eight-nights"),
    ],
)
def test_palettes_by_plain_words_and_occasions(name, meant):
    assert palettes_for(name, shelf().names)[:1] == [meant]
    assert f'did you mean "{meant}"' in no_palette(name, shelf().names)


@pytest.mark.parametrize(("name", "meant"), [("frst", '"frost"'), ("qqq", "palette list")])
def test_palettes_by_spelling(name, meant):
    assert meant in no_palette(name, shelf().names)


def test_of_many_palettes_only_your_own_are_listed():
    """Thirty of more than ninety names stood in the message."""
    said = no_palette("qqqxyz", [*shelf().names, "porch", "attic"])
    assert said == (
        'no palette "qqqxyz"; your own: attic, porch; lumenmap palette list shows them all'
    )
    assert no_palette("qqq", shelf().names) == (
        'no palette "qqq"; lumenmap palette list shows them all'
    )


def test_words_are_of_palettes_that_there_are():
    assert set(PALETTE_WORDS) <= set(shelf().names)


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
