"""Files of earlier versions, rewritten: the same light, the same comments."""

import tomllib

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.frames.render import render
from lumenmap.jobs.project import load
from lumenmap.show.effects.renamed import OPTIONS
from lumenmap.show.update import updated

OLD = """# My first show.
[show]
length = "6 s"
house = "house.toml"

# The fire.
[[cue]]
[[cue.layer]]
effect = "hearth"   # fire
depth = 0.6         # how deep
envelope = { at = ["0 s", "1 s"], level = [0, 1] }  # comes on
# The comet.
[[cue]]
start = "2 s"
[[cue.layer]]
effect = "streak"
spacing = 3
[[cue.layer]]
effect = "murmur"
contrast = "30 %"
"""
NEW = """# My first show.
[show]
length = "6 s"
house = "house.toml"

[defaults]
clock = "show"

# The fire.
[[cue]]
[[cue.layer]]
effect = "hearth"   # fire
least = 0.4         # how deep
envelope = { at = ["0 s", "1 s"], to = [0, 1] }  # comes on
# The comet.
[[cue]]
start = "2 s"
[[cue.layer]]
effect = "brightwake"
spacing = 3
[[cue.layer]]
effect = "murmur"
least = "70 %"
"""


def test_an_old_file_in_todays_words_with_its_comments():
    text, said = updated(OLD, keep_clock=True)
    assert text == NEW
    assert said == [
        'cue 1, layer 1: hearth has "least" in place of "depth", and its value is 1 minus what '
        "depth was",
        'cue 1, layer 1: envelope has "to" in place of "level"',
        'cue 2, layer 1: the effect "streak" is now "brightwake"',
        'cue 2, layer 2: murmur has "least" in place of "contrast", and its value is 1 minus what '
        "contrast was",
        '[defaults] clock = "show": layers count from the show\'s start, as before',
    ]


def test_an_updated_file_stays_as_it_is():
    assert updated(NEW, keep_clock=True) == (NEW, [])
    assert updated(NEW) == (NEW, [])


def test_the_clock_is_kept_only_where_it_matters_and_on_request():
    assert "clock" not in updated(OLD)[0]
    early = OLD.replace('start = "2 s"\n', "")
    assert "clock" not in updated(early, keep_clock=True)[0]
    own = '[defaults]\nspeed = 1\n[[cue]]\nstart = 3\n[[cue.layer]]\neffect = "chase"\n'
    text = updated(own, keep_clock=True)[0]
    assert tomllib.loads(text)["defaults"] == {"speed": 1, "clock": "show"}


@pytest.mark.parametrize(
    ("key", "new"), OPTIONS.items(), ids=lambda k: " ".join(k) if isinstance(k, tuple) else ""
)
def test_every_renamed_option_is_rewritten(key, new):
    effect, old = key
    text, said = updated(f'[[cue]]\n[[cue.layer]]\neffect = "{effect}"\n{old} = 0.25\n')
    value = 0.75 if new.value == "1 - x" else 0.25
    assert tomllib.loads(text)["cue"][0]["layer"][0] == {"effect": effect, new.name: value}
    assert len(said) == 1


def test_what_is_rewritten_loads_and_moves_as_the_show_did(tmp_path):
    from tests.frames.shows import HOUSE

    (tmp_path / "house.toml").write_text(HOUSE)
    (tmp_path / "show.toml").write_text(NEW)
    whole = np.concatenate(list(render(load(tmp_path / "show.toml").plan)))
    (tmp_path / "show.toml").write_text(NEW.replace('clock = "show"', ""))
    assert (np.concatenate(list(render(load(tmp_path / "show.toml").plan))) != whole).any()


def test_house_files_too():
    text, said = updated('[[mass]]\nname = "a"\nheading = 30 # turned\n')
    assert text == '[[mass]]\nname = "a"\nrotate = 30 # turned\n'
    assert said == ['mass 1: "rotate" in place of "heading"']


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[show\n", "isn't TOML"),
        ("[" * 5000, "isn't TOML"),
        (
            '[[cue]]\n[[cue.layer]]\neffect = "hearth"\ndepth = "deep"\n',
            'hearth\'s depth is "deep"',
        ),
    ],
)
def test_what_cant_be_updated_is_said(text, says):
    with pytest.raises(InputError, match=says):
        updated(text)


@pytest.mark.parametrize(
    "text",
    [
        "cue = 3\n",
        "cue = [1, 2]\n",
        "[cue]\nlayer = 1\n",
        "[[cue]]\nlayer = [{}]\n",
        'mass = "x"\n',
    ],
)
def test_files_of_another_shape_are_left_to_the_reader(text):
    assert updated(text, keep_clock=True)[1] == []


def test_the_command_writes_it_whole_and_says_what_it_did(tmp_path, lumenmap):
    file = tmp_path / "show.toml"
    file.write_text(OLD)
    tried = lumenmap("update", file, "--dry-run", "--keep-clock")
    assert (tried.code, file.read_text()) == (0, OLD)
    assert "5 changes; nothing was written" in tried.out
    done = lumenmap("update", file, "--keep-clock")
    assert (done.code, file.read_text()) == (0, NEW)
    assert 'the effect "streak" is now "brightwake"' in done.out
    assert "needs no change" in lumenmap("update", file).out
    lumenmap("update", tmp_path / "no.toml").fails(2, "no.toml")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe")
    lumenmap("update", tmp_path / "bytes.toml").fails(2, "UTF-8")
