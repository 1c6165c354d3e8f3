"""A show that is taken off the list loses nothing, and comes back as it was."""

from datetime import UTC, datetime

import pytest

from lumenmap.core.errors import InputError
from lumenmap.desk.evenings.book import Book
from lumenmap.desk.files.folder import Folder
from lumenmap.desk.light.live import Live
from lumenmap.desk.session import Session
from lumenmap.desk.show_files import remove_show
from tests.desk.conftest import running


def files(page):
    return [row["file"] for row in page.told["shows"]["shows"]]


def test_a_show_goes_and_comes_back_byte_by_byte(desk):
    page, before = desk.page(), (desk.folder / "other.toml").read_bytes()
    gone = page.ask("remove_show", file="other.toml")
    assert (gone["type"], gone["file"]) == ("accepted", "other.toml.removed")
    page.until(lambda m: m["type"] == "shows" and files(page) == ["show.toml"])
    assert not (desk.folder / "other.toml").exists()
    assert (desk.folder / "other.toml.removed").read_bytes() == before
    back = page.ask("put_back", file="other.toml")
    assert (back["type"], back["file"]) == ("accepted", "other.toml")
    page.until(lambda m: m["type"] == "shows" and "other.toml" in files(page))
    assert (desk.folder / "other.toml").read_bytes() == before
    assert page.ask("put_back", file="other.toml")["type"] == "refused", "it is back already"


def test_what_was_changed_just_before_goes_with_it(desk):
    page = desk.page()
    page.open("other.toml")
    page.edit(["show", "name"], "Another One", "Changed Last", file="other.toml")
    assert page.ask("remove_show", file="other.toml")["type"] == "accepted"
    assert "Changed Last" in (desk.folder / "other.toml.removed").read_text("utf-8")
    page.ask("put_back", file="other.toml")
    assert page.open("other.toml")["title"] == "Changed Last"


def test_a_show_that_an_evening_plays_stays(desk):
    page = desk.page()
    said = page.ask("remove_show", file="show.toml")["sentence"]
    assert said == (
        'almanac.toml plays this show ("Every evening"); choose another show there first.'
    )
    assert (desk.folder / "show.toml").exists()
    desk.desk.hub.session.now = lambda: datetime(2026, 12, 3, 20, tzinfo=UTC)
    assert page.ask("choose", file="other.toml")["type"] == "accepted"
    assert "almanac.toml plays this show" in page.ask("remove_show", file="other.toml")["sentence"]


@pytest.mark.parametrize(("day", "kept"), [("2019-12-24", False), ("12-24", True)])
def test_an_evening_that_is_over_holds_no_show(house, day, kept):
    with (house / "almanac.toml").open("a", encoding="utf-8") as almanac:
        almanac.write(f'\n[[once]]\ndate = "{day}"\nshow = "other.toml"\n')
    with running(house) as desk:
        done = desk.page().ask("remove_show", file="other.toml")
        assert done["type"] == ("refused" if kept else "accepted")


def test_the_only_show_stays(house):
    (house / "other.toml").unlink()
    (house / "almanac.toml").unlink()
    with running(house) as desk:
        said = desk.page().ask("remove_show", file="show.toml")["sentence"]
    assert said == "This is the only show here; make another one before you remove it."


@pytest.mark.parametrize("name", ["house.toml", "almanac.toml", "../other.toml", "none.toml"])
def test_only_shows_are_removed(desk, name):
    held = sorted(p.name for p in desk.folder.iterdir())
    assert desk.page().ask("remove_show", file=name)["type"] == "refused"
    assert sorted(p.name for p in desk.folder.iterdir()) == held


def test_another_file_of_that_name_is_never_written_over(desk):
    page = desk.page()
    (desk.folder / "other.toml.removed").write_text("kept by hand", "utf-8")
    assert page.ask("remove_show", file="other.toml")["file"] == "other.toml.removed-2"
    (desk.folder / "other.toml").write_text("new meanwhile", "utf-8")
    said = page.ask("put_back", file="other.toml")["sentence"]
    assert "there is a new file called other.toml; rename that one first" in said
    assert (desk.folder / "other.toml").read_text("utf-8") == "new meanwhile"
    assert (desk.folder / "other.toml.removed").read_text("utf-8") == "kept by hand"


def test_a_folder_that_lets_nothing_be_renamed_says_so(house, monkeypatch):
    folder = Folder(house)
    monkeypatch.setattr("pathlib.Path.rename", _refuse)
    with pytest.raises(InputError, match=r"can't be renamed to other.toml.removed: .*read-only"):
        folder.put_away("other.toml")
    assert "other.toml" in folder.files


def _refuse(path, new):
    raise OSError("read-only")


def test_removed_too_often(house):
    folder = Folder(house)
    for end in ("", *(f"-{n}" for n in range(2, 100))):
        (house / f"other.toml.removed{end}").touch()
    with pytest.raises(InputError, match=r"removed too often; delete old other.toml.removed"):
        folder.put_away("other.toml")


def test_a_page_that_only_shows_saves_removes_nothing(house):
    with running(house, watched="show.toml") as desk:
        assert desk.page().ask("remove_show", file="other.toml")["type"] == "refused"
    assert (house / "other.toml").exists()


def test_what_was_to_be_saved_when_its_show_went_fails_nothing(house):
    session = Session(house, Live(lambda take: None, lambda take, why: None))
    session.open("other.toml")
    remove_show(session, Book(session.folder), "other.toml")
    session.close_gone(set())
    assert "other.toml" not in session.shows
    assert not session.save("other.toml")


def test_somebody_who_composes_it_is_told_and_goes_on_once_it_is_back(desk):
    composes, removes = desk.page(), desk.page()
    composes.open("other.toml")
    removes.ask("remove_show", file="other.toml")
    told = composes.until(lambda m: m["type"] == "problems" and m["problems"])
    assert "isn't there any more" in told["problems"][0]["sentence"]
    refused = composes.edit(["show", "name"], "Another One", "Mine", file="other.toml")
    assert refused["type"] == "refused"
    assert removes.ask("put_back", file="other.toml")["type"] == "accepted"
    composes.until(lambda m: m["type"] == "problems" and not m["problems"])
    done = composes.edit(["show", "name"], "Another One", "Mine", file="other.toml")
    assert done["type"] == "accepted", done


def test_a_new_show_with_the_name_of_a_removed_one_is_a_show_of_its_own(desk):
    page = desk.page()
    first = page.ask("new_show", title="Snow")["file"]
    page.open(first)
    page.edit(["show", "fps"], 30, 25, file=first)
    page.ask("remove_show", file=first)
    again = page.ask("new_show", title="Snow")["file"]
    assert again == first
    told = page.open(again)
    assert told["fps"] == 30
    assert page.ask("put_back", file=first)["type"] == "refused"
