"""Edits of files: any sequence, and back again; comments stay; a file is never spoiled."""

import json
import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.desk.files import blocks, meaning
from lumenmap.desk.files.edits import edited, taken
from lumenmap.desk.wire.asked import Insert, Move, Remove, SetValue

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
STARTER = Path(blocks.__file__).parents[2] / "starter" / "feet" / "show.toml"

#: Ways in which people write the same things, in one file.
ODD = '''\
# top
title = 'single'   # a literal string
numbers = [1, 2,   # one and two
  # between
  3,
]   # after
dotted.a.b = 0x10   # hexadecimal
"odd key" = """
# not a comment
[not.a.header]
"""   # after a text
[show]# right behind
length="12 s"
when = 2026-12-31   # a date
  [cue-notes]   # indented
  text = "é # no comment"

# above the first
[[cue]] # first
name = "one"
layer = [{ effect = "still", opacity = .5e0 }, { effect = "chase" }]
[palette.a]
stops = ["red", 'blue'] # two
# above the second
[[cue]]
name = "two"   # its name
within = { up = [ 1, 2 ], across = [0,5] }
  # inside

[palette."b c"]
stops = [
  "red",   # one
  { colour = "blue", at = 0.5 },   # two
]
[[cue]]
# only a comment'''
ODD = ODD.replace(".5e0", "0.5e0")
TEXTS = [
    STARTER.read_text("utf-8"),
    (EXAMPLES / "alder-cottage" / "first-frost.toml").read_text("utf-8"),
    (EXAMPLES / "alder-cottage" / "almanac.toml").read_text("utf-8"),
    ODD,
    ODD.replace("\n", "\r\n"),
    "",
    "a = 1",
    "[[cue]]",
]
NAMES = st.sampled_from(["name", "start", "speed", "odd key", "é", "x"])
LEAVES = st.one_of(
    st.booleans(),
    st.integers(-(2**60), 2**60),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
)
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3),
    max_leaves=4,
)
TABLES = st.dictionaries(NAMES, VALUES, max_size=3)


def comments(text):
    """All comments of a text, in order, by an independent reading: tokens of strings left out."""
    bare = re.sub(
        r'"""(?:\\.|[^\\])*?"""|\'\'\'.*?\'\'\'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'',
        lambda m: "x" * len(m[0]),
        text,
        flags=re.DOTALL,
    )
    return sorted(text[m.start() : m.end()].strip() for m in re.finditer(r"#[^\n]*", bare))


def places(data, path=()):
    """Every path in the data, with the value there."""
    items = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in items:
        yield (*path, key), value
        if isinstance(value, (dict, list)):
            yield from places(value, (*path, key))


@st.composite
def an_edit(draw, data):
    everywhere = list(places(data))
    kinds = ["add"]
    if everywhere:
        kinds += ["set", "set", "remove", "insert", "move"]
    kind = draw(st.sampled_from(kinds))
    if kind == "add":
        tables = [()] + [p for p, v in everywhere if isinstance(v, dict)]
        path = [*draw(st.sampled_from(tables)), draw(NAMES)]
        return SetValue(
            path=path, old=meaning.as_json(meaning.get(data, path)), new=draw(VALUES | TABLES)
        )
    lists = [p for p, v in everywhere if isinstance(v, list)]
    if kind == "insert" and lists:
        path = draw(st.sampled_from(lists))
        there = meaning.get(data, path)
        new = draw(TABLES if there and isinstance(there[0], dict) else LEAVES)
        return Insert(path=[*path, draw(st.integers(0, len(there)))], new=new)
    items = [p for p, v in everywhere if isinstance(p[-1], int)]
    if kind in ("remove", "move") and items:
        path = draw(st.sampled_from(items))
        if kind == "remove":
            return Remove(path=list(path), old=meaning.as_json(meaning.get(data, path)))
        last = len(meaning.get(data, path[:-1])) - 1
        return Move(path=list(path), to=draw(st.integers(0, last)))
    leaves = [(p, v) for p, v in everywhere if not isinstance(v, (dict, list))] or everywhere
    path, old = draw(st.sampled_from(leaves))
    gone = st.none() if isinstance(path[-1], str) else st.nothing()
    return SetValue(path=list(path), old=meaning.as_json(old), new=draw(LEAVES | gone))


@given(st.sampled_from(TEXTS))
def test_a_text_is_the_sum_of_its_blocks(text):
    assert blocks.join(blocks.split(text)) == text


@settings(max_examples=60)
@given(st.data())
def test_edits_do_what_they_mean_and_keep_every_comment(data):
    """The text's data is that of the plain edit; comments go only with what is taken out."""
    text = data.draw(st.sampled_from(TEXTS))
    for _ in range(data.draw(st.integers(1, 5))):
        before = tomllib.loads(text)
        edit = data.draw(an_edit(before))
        try:
            made = edited(text, [edit])
        except InputError as error:
            # Refused, and so harmless: how often is asserted below.
            assert "change it in an editor" in str(error) or "no such" in str(error), edit
            continue
        assert meaning.same(tomllib.loads(made), meaning.applied(before, [edit])), edit
        lost = [c for c in comments(text) if c not in comments(made)]
        own = isinstance(edit, Remove) or isinstance(edit.path[-1], int)
        compound = isinstance(meaning.get(before, edit.path), (dict, list))
        assert not lost or (own and not isinstance(edit, (Insert, Move))) or compound, (edit, lost)
        text = made


@settings(max_examples=60)
@given(st.data())
def test_edits_are_taken_back_by_their_inverses(data):
    """Backwards along the inverses, the data is what it was; what was a whole block has its text."""
    text = data.draw(st.sampled_from(TEXTS))
    first, done, kept = text, [], []
    for _ in range(data.draw(st.integers(1, 4))):
        edit = data.draw(an_edit(tomllib.loads(text)))
        try:
            made = edited(text, [edit])
        except InputError:
            continue
        if isinstance(edit, Remove):
            kept.append(taken(text, edit))
        done.append(edit)
        text = made
    for edit in reversed(done):
        text = edited(text, meaning.inverse([edit]), kept)
    assert meaning.same(tomllib.loads(text), tomllib.loads(first))


def every_show_edit(data):
    """Edits that the page makes of a show: every value, and every cue, layer and stop."""
    for path, value in places(data):
        if not isinstance(value, (dict, list)):
            yield SetValue(path=list(path), old=value, new="new" if value != "new" else "old")
            if isinstance(path[-1], str):
                yield SetValue(path=list(path), old=value, new=None)
        if isinstance(path[-1], int):
            yield Remove(path=list(path), old=value)
            yield Insert(path=list(path), new=value)
            for to in range(len(meaning.get(data, path[:-1]))):
                yield Move(path=list(path), to=to)


@pytest.mark.parametrize("text", TEXTS[:3])
def test_no_edit_of_a_usual_file_is_refused(text):
    data = tomllib.loads(text)
    count = 0
    for edit in every_show_edit(meaning.as_json(data)):
        assert meaning.same(tomllib.loads(edited(text, [edit])), meaning.applied(data, [edit]))
        count += 1
    assert count > 30


def change(path, new):
    text = TEXTS[0]
    old = meaning.as_json(meaning.get(tomllib.loads(text), path))
    return edited(text, [SetValue(path=path, old=old, new=new)])


def diff(before, after):
    import difflib

    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    return [line for line in lines if not line.startswith(("---", "+++", "@@"))]


def test_a_changed_value_changes_its_line_alone():
    text = TEXTS[0]
    assert diff(text, change(["show", "fps"], 40)) == [
        "-fps = 30                           # frames a second",
        "+fps = 40                           # frames a second",
    ]
    assert diff(text, change(["cue", 0, "layer", 0, "speed"], "5 ft/s")) == [
        '-speed = "4 ft/s"',
        '+speed = "5 ft/s"',
    ]


def test_a_new_key_stands_after_the_last_of_its_table():
    text = TEXTS[0]
    assert diff(text, change(["cue", 0, "layer", 0, "way"], "round")) == ['+way = "round"']
    got = change(["cue", 0, "layer", 0, "way"], "round")
    assert 'opacity = 1\nway = "round"\n\n[[cue]]' in got


def test_a_new_palette_or_table_stands_at_the_end():
    text = TEXTS[0]
    assert diff(text, change(["palette", "mine", "stops"], ["red", "#00f"])) == [
        "+",
        "+[palette.mine]",
        '+stops = ["red", "#00f"]',
    ]
    assert diff(text, change(["limit", "mode"], "steady"))[1:] == ["+[limit]", '+mode = "steady"']


def test_a_key_taken_away_leaves_what_was_written_beside_it():
    got = change(["show", "seed"], None)
    assert diff(TEXTS[0], got) == [
        "-seed = 1                           # another number, another pattern of chance",
        "+# another number, another pattern of chance",
    ]


def test_a_new_cue_reads_as_if_a_person_had_written_it():
    cue = {"name": "dawn", "start": "3 s", "layer": [{"effect": "still", "palette": "warm"}]}
    got = edited(TEXTS[0], [Insert(path=["cue", 1], new=cue)])
    assert (
        'opacity = 1\n\n[[cue]]\nname = "dawn"\nstart = "3 s"\n\n'
        '[[cue.layer]]\neffect = "still"\npalette = "warm"\n\n[[cue]]\nname = "white drift"'
    ) in got
    first = edited(TEXTS[0], [Insert(path=["cue", 0], new=cue)])
    assert "# A cue is a stretch of time" in first
    last = edited(TEXTS[0], [Insert(path=["cue", 2], new=cue)])
    assert tomllib.loads(last)["cue"][2]["name"] == "dawn"


def test_a_cue_moved_takes_its_comments_along():
    text = TEXTS[1]
    got = edited(text, [Move(path=["cue", 2], to=0)])
    assert comments(got) == comments(text)
    assert [c["name"] for c in tomllib.loads(got)["cue"]] == ["full snow", "cold air", "sleighs"]
    assert '# Broad white waves cross the whole house.\n[[cue]]\nname = "full snow"' in got


def test_a_stop_changed_put_in_and_taken_out():
    text = 'stops = ["red", "blue"] # two\n'
    assert edited(text, [Insert(path=["stops", 1], new="lime")]) == (
        'stops = ["red", "lime", "blue"] # two\n'
    )
    assert edited(text, [Remove(path=["stops", 0], old="red")]) == 'stops = ["blue"] # two\n'
    many = 'stops = [\n  "red",   # one\n  { colour = "blue", at = 0.5 },   # two\n]\n'
    got = edited(many, [SetValue(path=["stops", 1, "at"], old=0.5, new=0.25)])
    assert got == many.replace("0.5", "0.25")
    got = edited(many, [Insert(path=["stops", 1], new="lime")])
    assert comments(got) == comments(many)


def test_a_cue_that_was_taken_out_comes_back_with_its_comments():
    text = TEXTS[1]
    edit = Remove(path=["cue", 1], old=tomllib.loads(text)["cue"][1])
    gone = edited(text, [edit])
    assert edited(gone, meaning.inverse([edit]), [taken(text, edit)]) == text


def test_values_of_another_time_are_refused_with_both_shown():
    with pytest.raises(meaning.ConflictError, match="show, fps was changed meanwhile") as caught:
        edited(TEXTS[0], [SetValue(path=["show", "fps"], old=25, new=40)])
    assert (caught.value.path, caught.value.yours, caught.value.theirs) == (["show", "fps"], 40, 30)
    # Two who want the same have no conflict.
    assert edited(TEXTS[0], [SetValue(path=["show", "fps"], old=25, new=30)])


@pytest.mark.parametrize(
    ("edit", "why"),
    [
        (SetValue(path=[], old=None, new=1), "needs a path"),
        (SetValue(path=["show", "fps", "x"], old=None, new=1), "no such place in the file"),
        (SetValue(path=["cue", 9, "start"], old=None, new=1), "cue 10, start: there is no such"),
        (SetValue(path=["cue", -1, "start"], old=None, new=1), "no such place"),
        (Remove(path=["cue", 7], old=None), "cue 8: there is no such item"),
        (Remove(path=["show"], old=None), "expected the number"),
        (Insert(path=["cue", 5], new={}), "no such place in the list"),
        (Move(path=["cue", 0], to=5), "no such place in the list"),
    ],
)
def test_paths_that_lead_nowhere_are_refused(edit, why):
    with pytest.raises(InputError, match=why):
        edited(TEXTS[0], [edit])


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 2**63, "\ud800", [None]])
def test_values_that_toml_cant_hold_are_refused(value):
    with pytest.raises(InputError):
        blocks.literal(value)


@given(VALUES)
def test_literals_are_toml(value):
    assert meaning.same(tomllib.loads(f"a = {blocks.literal(value)}")["a"], value)


def test_edits_made_on_an_older_text_find_their_cue_again():
    base = {"cue": [{"name": n, "fade": 1} for n in "abc"]}
    now = {"cue": [{"name": n, "fade": 1} for n in "xabc"]}
    edit = SetValue(path=["cue", 1, "fade"], old=1, new=2)
    assert meaning.rebased([edit], base, now)[0].path == ["cue", 2, "fade"]
    # Changed where it stands, it is still the same cue.
    other = {
        "cue": [{"name": "a", "fade": 1}, {"name": "b", "fade": 1, "start": 3}, *base["cue"][2:]]
    }
    assert meaning.rebased([edit], base, other)[0].path == ["cue", 1, "fade"]
    with pytest.raises(meaning.ConflictError, match="cue 2 isn't there any more"):
        meaning.rebased([edit], base, {"cue": [base["cue"][0], base["cue"][2]]})


def test_what_json_knows_no_type_for_is_text():
    data = tomllib.loads("a = 2026-12-31\nb = 17:30:00\nc = [2026-01-01T00:00:00Z]\nd = nan")
    assert json.loads(json.dumps(meaning.as_json(data))) == {
        "a": "2026-12-31",
        "b": "17:30:00",
        "c": ["2026-01-01T00:00:00+00:00"],
        "d": "nan",
    }
