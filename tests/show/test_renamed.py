"""Names of options: one meaning across all effects, and a sentence for each name that is gone."""

from collections import defaultdict

import pytest

from lumenmap.core.errors import InputError
from lumenmap.show.effects.registry import effects
from lumenmap.show.effects.renamed import EFFECTS, OPTIONS
from lumenmap.show.suggest import no_effect

KNOWN = effects()


def test_an_options_name_means_one_kind_of_thing_in_every_effect():
    kinds = defaultdict(set)
    for effect in KNOWN.values():
        for spec in effect.options.values():
            kinds[spec.name].add(type(spec.kind).__name__)
    assert {name: kind for name, kind in kinds.items() if len(kind) > 1} == {}


def test_how_dark_the_dark_is_has_one_name():
    others = {"trough", "above", "depth", "contrast", "floor", "background"}
    for effect in KNOWN.values():
        assert not others & set(effect.options), effect.name


@pytest.mark.parametrize(("effect", "old"), OPTIONS)
def test_an_old_option_is_told_in_one_sentence(effect, old):
    new = OPTIONS[effect, old]
    assert new.name in KNOWN[effect].options
    assert old not in KNOWN[effect].options
    with pytest.raises(InputError, match=f'^{old}: {effect} has "{new.name}" in place of "{old}"'):
        KNOWN[effect].read({old: 1})


def test_a_value_that_turns_round_is_told():
    with pytest.raises(InputError, match="and its value is 1 minus what contrast was"):
        KNOWN["murmur"].read({"contrast": 0.8})


@pytest.mark.parametrize("old", EFFECTS)
def test_an_old_effect_is_told(old):
    assert EFFECTS[old] in KNOWN
    assert no_effect(old, KNOWN).startswith(f'the effect "{old}" is now called "{EFFECTS[old]}"')
