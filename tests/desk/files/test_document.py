"""A file in several hands: undo gives the bytes of before, and nobody's change is lost."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.desk.files import meaning
from lumenmap.desk.files.document import Document
from lumenmap.desk.files.history import MOST_PASSED
from lumenmap.desk.wire.asked import Remove, SetValue
from tests.desk.files.test_edits import TEXTS, an_edit, comments

SHOW = TEXTS[0]


def document(text=SHOW):
    return Document(Path("show.toml"), text)


def put(doc, path, new, version=None, gesture="", label=""):
    old = meaning.as_json(meaning.get(doc.data, path))
    edits = [SetValue(path=path, old=old, new=new)]
    doc.accept(doc.change(edits, doc.version if version is None else version, label, gesture))


@settings(max_examples=60)
@given(st.data())
def test_any_walk_of_edits_undos_and_redos_comes_back_to_the_same_bytes(data):
    doc = document(data.draw(st.sampled_from(TEXTS)))
    first, trail = doc.text, []
    for _ in range(data.draw(st.integers(1, 8))):
        what = data.draw(st.sampled_from(["edit", "edit", "undo", "redo"]))
        before = doc.text
        try:
            if what == "edit":
                doc.accept(doc.change([data.draw(an_edit(doc.data))], doc.version))
                trail = [*trail[: len(doc.history.steps) - 1], before]
            elif what == "undo":
                doc.accept(doc.undo())
                assert doc.text == trail[len(doc.history.steps)]
            else:
                doc.accept(doc.redo())
        except InputError:
            assert doc.text == before
    while doc.history.steps:
        doc.accept(doc.undo())
    assert doc.text == first


def test_one_drag_is_one_step():
    doc = document()
    for speed in ("5 ft/s", "6 ft/s", "7 ft/s"):
        put(doc, ["cue", 0, "layer", 0, "speed"], speed, gesture="drag 1")
    put(doc, ["cue", 0, "layer", 0, "speed"], "8 ft/s", gesture="drag 2")
    assert len(doc.history.steps) == 2
    assert (
        doc.history.steps[0].edits[0].old == "4 ft/s"
        and doc.history.steps[0].edits[0].new == "7 ft/s"
    )
    doc.accept(doc.undo())
    assert doc.data["cue"][0]["layer"][0]["speed"] == "7 ft/s"
    doc.accept(doc.undo())
    assert doc.text == SHOW


def test_an_editor_and_a_browser_change_different_keys():
    doc = document()
    seen = doc.version
    assert doc.from_disk(SHOW.replace('name = "First Try"', 'name = "Mine"  # typed'))
    put(doc, ["show", "fps"], 25, version=seen)
    assert doc.data["show"]["name"] == "Mine" and doc.data["show"]["fps"] == 25
    assert "# typed" in doc.text and not doc.saved


def test_an_editor_and_a_browser_change_the_same_key():
    doc = document()
    seen = doc.version
    doc.from_disk(SHOW.replace("fps = 30 ", "fps = 60 "))
    text = doc.text
    with pytest.raises(meaning.ConflictError, match="show, fps was changed meanwhile") as caught:
        doc.change([SetValue(path=["show", "fps"], old=30, new=25)], seen)
    assert (caught.value.yours, caught.value.theirs) == (25, 60)
    assert doc.text == text


def test_an_edit_finds_its_cue_though_an_editor_put_one_before_it():
    doc = document()
    seen = doc.version
    more = '[[cue]]\nname = "new"\n[[cue.layer]]\neffect = "still"\n\n'
    doc.from_disk(SHOW.replace("# A cue is", more + "# A cue is"))
    edit = SetValue(path=["cue", 0, "layer", 0, "speed"], old="4 ft/s", new="5 ft/s")
    doc.accept(doc.change([edit], seen))
    assert doc.data["cue"][1]["layer"][0]["speed"] == "5 ft/s"
    assert "speed" not in doc.data["cue"][0]["layer"][0]


def test_undo_after_an_editor_saved_takes_back_the_step_alone():
    doc = document()
    put(doc, ["show", "fps"], 25)
    doc.from_disk(doc.text.replace("First Try", "Typed"))
    doc.accept(doc.undo())
    assert doc.data["show"]["fps"] == 30 and doc.data["show"]["name"] == "Typed"
    doc.accept(doc.redo())
    assert doc.data["show"]["fps"] == 25 and doc.data["show"]["name"] == "Typed"


def test_a_cue_taken_out_comes_back_with_its_comments_though_an_editor_saved_meanwhile():
    doc = document(TEXTS[1])
    doc.accept(doc.change([Remove(path=["cue", 1], old=doc.data["cue"][1])], doc.version))
    doc.from_disk(doc.text.replace("First Frost", "Other"))
    doc.accept(doc.undo())
    assert doc.text == TEXTS[1].replace("First Frost", "Other")


def test_a_palette_taken_out_comes_back_with_its_comments():
    text = (
        SHOW + "\n# mixed at the kitchen table\n[palette.mine]\nstops = ['red']  # like the door\n"
    )
    doc = document(text)
    old = doc.data["palette"]["mine"]
    doc.accept(doc.change([SetValue(path=["palette", "mine"], old=old, new=None)], doc.version))
    assert "kitchen" not in doc.text
    doc.from_disk(doc.text.replace("First Try", "Other"))
    doc.accept(doc.undo())
    assert comments(doc.text) == comments(text) and doc.data["palette"]["mine"] == old


def test_the_file_of_the_beginning_can_be_had_back_and_left_again():
    doc = document()
    put(doc, ["show", "fps"], 25)
    doc.from_disk(doc.text.replace("First Try", "Typed"))
    changed = doc.text
    doc.accept(doc.restore())
    assert doc.text == SHOW
    doc.accept(doc.undo())
    assert doc.text == changed


def test_what_cant_be_taken_back_says_why():
    doc = document()
    with pytest.raises(InputError, match="nothing to undo"):
        doc.undo()
    with pytest.raises(InputError, match="nothing to redo"):
        doc.redo()
    put(doc, ["show", "fps"], 25)
    doc.accept(doc.restore())
    doc.from_disk(SHOW.replace("First Try", "Typed"))
    with pytest.raises(InputError, match="replaced the whole file, and an editor has saved it"):
        doc.undo()
    with pytest.raises(InputError, match="load the page again"):
        doc.change([], 99)


def test_a_step_that_cant_be_taken_back_doesnt_hide_those_before_it():
    doc = document()
    put(doc, ["show", "fps"], 25)
    put(doc, ["show", "seed"], 5)
    doc.from_disk(doc.text.replace("seed = 5", "seed = 9"))
    with pytest.raises(meaning.ConflictError):
        doc.undo()
    doc.accept(doc.undo())
    assert (doc.data["show"]["fps"], doc.data["show"]["seed"]) == (30, 9)
    doc.from_disk(doc.text.replace("fps = 30 ", "fps = 60 "))
    with pytest.raises(meaning.ConflictError):
        doc.redo()
    with pytest.raises(InputError, match="nothing to redo"):
        doc.redo()


def test_a_step_that_an_editor_blocked_counts_again_once_the_editor_takes_that_back():
    doc = document()
    put(doc, ["show", "fps"], 25, label="fps")
    put(doc, ["show", "seed"], 5, label="seed")
    put(doc, ["show", "name"], "Mine", label="name")
    typed = doc.text
    doc.from_disk(typed.replace('"Mine"', '"Typed"'))
    with pytest.raises(meaning.ConflictError):
        doc.undo()
    assert doc.history.next("undo").label == "seed"
    doc.accept(doc.undo())
    put(doc, ["show", "fps"], 50, label="later")
    doc.from_disk(doc.text.replace('"Typed"', '"Mine"'))
    told = []
    while doc.history.next("undo"):
        told.append(doc.history.next("undo").label)
        doc.accept(doc.undo())
    assert told == ["later", "name", "fps"], "in the order in which they were done"
    assert doc.text == SHOW
    assert [step.label for step in doc.history.undone] == told


def test_a_step_that_was_blocked_by_one_before_it_counts_again_with_that():
    doc = document()
    put(doc, ["show", "fps"], 25, label="first")
    put(doc, ["show", "fps"], 60, label="second")
    doc.from_disk(doc.text.replace("fps = 60", "fps = 50"))
    for _ in "12":
        with pytest.raises(meaning.ConflictError):
            doc.undo()
    assert doc.history.next("undo") is None
    doc.from_disk(doc.text.replace("fps = 50", "fps = 60"))
    doc.accept(doc.undo())
    doc.accept(doc.undo())
    assert doc.text == SHOW


def test_a_redo_that_an_editor_blocked_counts_again():
    doc = document()
    put(doc, ["show", "fps"], 25)
    doc.accept(doc.undo())
    doc.from_disk(SHOW.replace("fps = 30 ", "fps = 60 "))
    with pytest.raises(meaning.ConflictError):
        doc.redo()
    doc.from_disk(SHOW)
    doc.accept(doc.redo())
    assert doc.data["show"]["fps"] == 25


def test_the_whole_file_can_be_had_back_once_an_editor_takes_its_change_back():
    doc = document()
    put(doc, ["show", "fps"], 25)
    doc.accept(doc.restore())
    doc.from_disk(SHOW.replace("First Try", "Typed"))
    with pytest.raises(InputError, match="replaced the whole file"):
        doc.undo()
    doc.from_disk(SHOW)
    doc.accept(doc.undo())
    assert doc.data["show"]["fps"] == 25


def test_a_step_that_an_editor_took_back_by_hand_isnt_offered():
    doc = document()
    put(doc, ["show", "fps"], 25)
    doc.from_disk(doc.text.replace("fps = 25", "fps = 60"))
    with pytest.raises(meaning.ConflictError):
        doc.undo()
    doc.from_disk(SHOW)
    assert doc.history.next("undo") is None


def test_what_leads_to_a_file_that_cant_be_read_is_passed_over_until_an_editor_saves():
    doc = document()
    put(doc, ["show", "fps"], 25, label="before")
    put(doc, ["show", "seed"], 5, label="unread")
    doc.from_disk(doc.text.replace("First Try", "Typed"))
    doc.refused(doc.undo())
    assert doc.history.next("undo").label == "before"
    put(doc, ["show", "name"], "Mine", label="after")
    doc.accept(doc.undo())
    assert doc.history.next("undo").label == "before", "it would be refused again"
    doc.from_disk(doc.text.replace("Typed", "Typed again"))
    assert doc.history.next("undo").label == "unread"
    doc.refused(doc.undo())
    doc.touch()  # the house has changed, on which it is read
    assert doc.history.next("undo").label == "unread"


def test_of_many_steps_that_are_passed_over_the_oldest_are_forgotten():
    doc = document()
    for i in range(MOST_PASSED + 5):
        put(doc, ["show", "seed"], i + 2)
    doc.from_disk(doc.text.replace("seed = ", "seed = 9"))
    for _ in range(MOST_PASSED + 5):
        with pytest.raises(meaning.ConflictError):
            doc.undo()
    assert len(doc.history.steps) == MOST_PASSED
    with pytest.raises(InputError, match="nothing to undo"):
        doc.undo()


def test_undo_finds_a_cue_where_an_editor_has_moved_it():
    doc = document()
    put(doc, ["cue", 0, "layer", 0, "speed"], "5 ft/s")
    more = '[[cue]]\nname = "new"\n[[cue.layer]]\neffect = "still"\n\n'
    doc.from_disk(doc.text.replace("# A cue is", more + "# A cue is"))
    doc.accept(doc.undo())
    assert doc.data["cue"][1]["layer"][0]["speed"] == "4 ft/s"
    doc.accept(doc.redo())
    assert doc.data["cue"][1]["layer"][0]["speed"] == "5 ft/s"


def test_versions_rise_and_old_ones_are_forgotten():
    doc = document()
    for i in range(1, 300):
        put(doc, ["show", "seed"], i + 1, gesture="drag")
    assert doc.version == 300 and len(doc.history.steps) == 1
    with pytest.raises(InputError, match="load the page again"):
        doc.change([SetValue(path=["show", "fps"], old=30, new=25)], 5)
    assert tomllib.loads(doc.text)["show"]["seed"] == 300
