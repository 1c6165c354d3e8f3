"""An editor, the disk and several browsers at once: nothing lost, nothing spoiled."""

import errno
import time
import tomllib

import pytest

from lumenmap.desk.files import folder as folder_module
from tests.desk.conftest import running


def save(path, old, new):
    """Change a text and save it as editors do: beside it, then moved over it."""
    text = path.read_text("utf-8")
    assert old in text
    draft = path.with_name(f".{path.name}.swp")
    draft.write_text(text.replace(old, new), "utf-8")
    draft.replace(path)


def test_an_editors_save_is_in_every_browser(desk):
    one, two = desk.page(), desk.page()
    one.open()
    two.open()
    one.drain()
    begun = time.monotonic()
    save(desk.folder / "show.toml", "fps = 30 ", "fps = 24 ")
    for page in (one, two):
        told = page.until(lambda m: m["type"] == "show" and m["data"]["show"]["fps"] == 24)
        assert told["changed_by"] == "editor" and told["saved"] and not told["can_undo"]
        page.lit(told["version"])
    assert time.monotonic() - begun < 5


def test_a_plain_write_is_seen_too(desk):
    page = desk.page()
    page.open()
    path = desk.folder / "show.toml"
    path.write_text(path.read_text("utf-8").replace("fps = 30 ", "fps = 24 "), "utf-8")
    page.until(lambda m: m["type"] == "show" and m["data"]["show"]["fps"] == 24)


def test_a_file_that_begins_with_a_mark_of_utf_8_is_edited_too(desk):
    """As editors on Windows may write it: each edit was taken for a save by somebody else."""
    path = desk.folder / "show.toml"
    path.write_text("\ufeff" + path.read_text("utf-8"), "utf-8")
    page = desk.page()
    page.open()
    old = page.told["show"]["data"]["cue"][0]["layer"][0]["speed"]
    assert page.edit(["cue", 0, "layer", 0, "speed"], old, "2 m/s")["type"] == "accepted"
    page.until(lambda m: m["type"] == "show" and m["saved"])
    assert 'speed = "2 m/s"' in path.read_text("utf-8")


def test_an_editor_saves_while_a_hand_drags(desk):
    page = desk.page()
    page.open()
    speeds = [f"{1 + i / 10:.1f} m/s" for i in range(1, 21)]
    old = page.told["show"]["data"]["cue"][0]["layer"][0]["speed"]
    for i, speed in enumerate(speeds):
        if i == 10:
            page.drain(0.5)  # an editor that saves an older text than the disk's has its way
            save(desk.folder / "show.toml", 'name = "First Try"', 'name = "Typed"  # by hand')
        path = ["cue", 0, "layer", 0, "speed"]
        assert page.edit(path, old, speed, gesture="drag", label="Speed")["type"] == "accepted"
        old = speed
    page.until(
        lambda m: (
            m["type"] == "show"
            and m["saved"]
            and m["title"] == "Typed"
            and m["data"]["cue"][0]["layer"][0]["speed"] == speeds[-1]
        )
    )
    text = (desk.folder / "show.toml").read_text("utf-8")
    assert 'name = "Typed"  # by hand' in text and f'speed = "{speeds[-1]}"' in text


def test_an_editor_who_changed_the_same_value_wins_and_both_are_shown(desk):
    page = desk.page()
    version = page.open()["version"]
    save(desk.folder / "show.toml", "fps = 30 ", "fps = 24 ")
    page.until(lambda m: m["type"] == "show" and m["data"]["show"]["fps"] == 24)
    answer = page.edit(["show", "fps"], 30, 50, version=version)
    assert answer["conflict"] and (answer["yours"], answer["theirs"]) == (50, 24)
    assert "fps = 24 " in (desk.folder / "show.toml").read_text("utf-8")


def test_an_edit_that_comes_before_the_watcher_has_looked(house):
    """The disk is looked at before each edit, whatever the watcher knows."""
    with running(house) as desk:
        page = desk.page()
        page.open()
        save(house / "show.toml", "seed = 1 ", "seed = 9 ")
        assert page.edit(["show", "fps"], 30, 25)["type"] == "accepted"
        page.until(lambda m: m["type"] == "show" and m["saved"] and m["data"]["show"]["fps"] == 25)
        data = tomllib.loads((house / "show.toml").read_text("utf-8"))["show"]
        assert (data["seed"], data["fps"]) == (9, 25)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("fps = 30 ", "fps = thirty ", "isn't TOML"),
        ("fps = 30 ", "fps = 3000 ", "at most 240"),
        ('effect = "chase"', 'effect = "chaes"', "no effect"),
        ('effect = "chase"', 'effect = "chase', 'the closing quote " is missing'),
    ],
)
def test_a_broken_file_changes_nothing_until_it_is_mended(desk, old, new, why):
    page = desk.page()
    shown = page.open()
    path = desk.folder / "show.toml"
    save(path, old, new)
    told = page.until(lambda m: m["type"] == "problems" and m["problems"])
    assert told["problems"][0]["file"] == "show.toml" and why in told["problems"][0]["sentence"]
    # What was shown stays, and what is on disk isn't overwritten.
    answer = page.edit(["show", "seed"], 1, 5)
    assert (
        answer["type"] == "refused" and "can't be read as it stands on disk" in answer["sentence"]
    )
    assert new in path.read_text("utf-8")
    assert page.told["show"]["version"] == shown["version"]
    other = desk.page()
    assert other.open()["version"] == shown["version"]
    save(path, new, old)
    page.until(lambda m: m["type"] == "problems" and not m["problems"])
    assert page.edit(["show", "seed"], 1, 5)["type"] == "accepted"


def test_a_show_is_deleted_and_put_back(desk):
    page = desk.page()
    page.open()
    path = desk.folder / "show.toml"
    path.rename(desk.folder / "aside")
    told = page.until(lambda m: m["type"] == "problems" and m["problems"])
    said = told["problems"][0]["sentence"]
    assert said == "isn't there any more: it was deleted, moved or renamed"
    assert page.told["evening"]["tonight"]["sentence"].startswith("First Try from")  # by its title
    (desk.folder / "aside").rename(path)
    page.until(lambda m: m["type"] == "problems" and not m["problems"])


def test_the_house_breaks_and_is_mended(desk):
    page = desk.page()
    page.open()
    path = desk.folder / "house.toml"
    pixels = page.told["session"]["house"]["pixels"]
    save(path, "[rail]", "[rial]")
    told = page.until(lambda m: m["type"] == "problems" and m["problems"])
    assert told["problems"][0]["file"] == "house.toml" and "rial" in told["problems"][0]["sentence"]
    # The last good house stays, and may be composed on.
    done = page.edit(["show", "seed"], 1, 5)
    assert done["type"] == "accepted"
    page.lit(done["version"])
    save(path, "[rial]", "[rail]")
    page.until(lambda m: m["type"] == "problems" and not m["problems"])
    # Another rail has another number of pixels, for the page and for the light.
    spacing = next(
        line for line in path.read_text("utf-8").splitlines() if line.startswith("hole_spacing")
    )
    save(path, spacing, 'hole_spacing = "60 mm"')
    told = page.until(lambda m: m["type"] == "session" and m["house"]["pixels"] != pixels)
    page.light(lambda s: s.codes.shape[1] == told["house"]["pixels"])


def test_a_house_that_is_broken_from_the_start(house):
    text = (house / "house.toml").read_text("utf-8")
    (house / "house.toml").write_text(text.replace("[rail]", "[rial]"), "utf-8")
    with running(house) as desk:
        page = desk.page()
        assert page.told["session"]["house"] is None
        assert any("rial" in p["sentence"] for p in page.told["problems"]["problems"])
        page.send("open", file="show.toml")
        answer = page.until(lambda m: m["type"] == "refused")
        assert "can't be read yet; mend it first" in answer["sentence"]
        (house / "house.toml").write_text(text, "utf-8")
        page.until(lambda m: m["type"] == "session" and m["house"])
        page.open()


def test_a_file_that_cant_be_written_is_told_and_written_later(desk, monkeypatch):
    """Disk full: the change stays in the desk, and is on disk when there is room again."""
    page = desk.page()
    page.open()
    full = [True]
    flush = folder_module.system.flush

    def refuse(path):
        if full[0] and path.suffix != ".json":
            raise OSError(errno.ENOSPC, "No space left on device")
        flush(path)

    monkeypatch.setattr(folder_module.system, "flush", refuse)
    before = (desk.folder / "show.toml").read_bytes()
    done = page.edit(["show", "fps"], 30, 25)
    assert done["type"] == "accepted"
    told = page.until(lambda m: m["type"] == "problems" and m["problems"])
    assert "can't be written: the disk is full" in told["problems"][0]["sentence"]
    assert not told["problems"][0]["mend"], "there is nothing to mend in the file"
    assert "keeps your changes, and tries again" in told["problems"][0]["sentence"]
    page.lit(done["version"])
    assert (desk.folder / "show.toml").read_bytes() == before
    # It can still be changed meanwhile.
    assert page.edit(["show", "seed"], 1, 7)["type"] == "accepted"
    full[0] = False
    page.until(lambda m: m["type"] == "problems" and not m["problems"], 20)
    data = tomllib.loads((desk.folder / "show.toml").read_text("utf-8"))["show"]
    assert (data["fps"], data["seed"]) == (25, 7)


def test_shows_come_and_go(desk):
    page = desk.page()
    page.open()
    text = (desk.folder / "show.toml").read_text("utf-8")
    (desk.folder / "third.toml").write_text(text.replace("First Try", "Third"), "utf-8")
    page.until(lambda m: m["type"] == "shows" and any(s["title"] == "Third" for s in m["shows"]))
    (desk.folder / "third.toml").unlink()
    page.until(lambda m: m["type"] == "shows" and all(s["title"] != "Third" for s in m["shows"]))
    # The one that is open is deleted: it stays in the desk, and the next save says so.
    (desk.folder / "show.toml").unlink()
    told = page.until(lambda m: m["type"] == "problems" and m["problems"])
    assert told["problems"][0]["file"] == "show.toml"
    (desk.folder / "show.toml").write_text(text, "utf-8")
    page.until(lambda m: m["type"] == "problems" and not m["problems"])


def test_an_effect_of_a_folder_is_taken_up_when_it_changes(house, tmp_path_factory):
    effects = tmp_path_factory.mktemp("effects")
    code = (
        '"""One level everywhere."""\nimport numpy as np\n\n\n'
        "def evenly(at, t, palette, /):\n"
        '    """One level everywhere."""\n'
        "    return np.full((len(t), len(at.xyz), 3), LEVEL, np.float32)\n"
    )
    (effects / "evenly.py").write_text(code.replace("LEVEL", "0.25"), "utf-8")
    show = (
        '[show]\nhouse = "house.toml"\nlength = "2 s"\n[[cue]]\n[[cue.layer]]\neffect = "evenly"\n'
    )
    (house / "own.toml").write_text(show, "utf-8")
    with running(house, effect_folders=(effects,)) as desk:
        page = desk.page()
        page.open("own.toml")
        first = page.light(seconds=30).codes.max()
        (effects / "evenly.py").write_text(code.replace("LEVEL", "0.5"), "utf-8")
        page.light(lambda s: s.codes.max() > first, 30)
        (effects / "evenly.py").write_text(code.replace("LEVEL", "1 / 0"), "utf-8")
        told = page.until(lambda m: m["type"] == "problems" and m["problems"], 30)
        assert "ZeroDivisionError" in told["problems"][0]["sentence"]


def test_a_page_that_comes_back_is_told_everything_again(house):
    """The server is stopped and started: the cookie holds, and nothing is lost."""
    with running(house) as desk:
        page = desk.page()
        page.open()
        assert page.edit(["show", "fps"], 30, 25)["type"] == "accepted"
        cookie = desk.cookie.split("=")[1]
    assert tomllib.loads((house / "show.toml").read_text("utf-8"))["show"]["fps"] == 25
    with running(house) as desk:
        name = f"lumenmap-desk-{desk.host.split(':')[1]}"
        page = desk.page(f"{name}={cookie}")
        assert page.open()["data"]["show"]["fps"] == 25
        assert page.told["session"]["rights"] == "compose"


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda p: p / "nothing", r"no such folder; lumenmap new"),
        (lambda p: p, r"has no house file; lumenmap new"),
        (lambda p: (p / "file").write_text("x") and p / "file", r"isn't a folder"),
    ],
)
def test_a_folder_without_a_house_says_what_to_do(tmp_path, lumenmap, make, why):
    lumenmap("desk", make(tmp_path), "--no-browser").fails(2, why)


def test_a_port_in_use_says_what_to_do(desk, lumenmap):
    port = desk.host.split(":")[1]
    done = lumenmap("desk", desk.folder, "--no-browser", "--port", port)
    done.fails(2, rf"port {port} can't be used: .*as in --port 8241")


def test_devices_are_forgotten_by_a_word(desk, lumenmap):
    desk.let_in()
    assert "all paired devices are dropped" in lumenmap("desk", desk.folder, "--forget").out
    assert "no device was paired" in lumenmap("desk", desk.folder, "--forget").out


def test_a_save_in_the_very_moment_of_ours_is_not_lost(desk, monkeypatch):
    """An editor's save that falls between our look at the disk and our rename."""
    page = desk.page()
    page.open()
    flush, saved = folder_module.system.flush, []

    def late(path):
        flush(path)
        if not saved and path.name.startswith(".show.toml"):
            saved.append(path)
            save(desk.folder / "show.toml", 'name = "First Try"', 'name = "Typed"')

    monkeypatch.setattr(folder_module.system, "flush", late)
    assert page.edit(["show", "fps"], 30, 25)["type"] == "accepted"
    page.until(lambda m: m["type"] == "show" and m["saved"] and m["title"] == "Typed")
    assert saved
    data = tomllib.loads((desk.folder / "show.toml").read_text("utf-8"))["show"]
    assert (data["name"], data["fps"]) == ("Typed", 25)


def test_an_editor_who_saves_an_older_text_has_its_way_and_the_page_hears_of_it(desk):
    """As an editor does that was told to overwrite: the edit that follows meets it."""
    page = desk.page()
    page.open()
    path = desk.folder / "show.toml"
    old = path.read_text("utf-8")
    assert page.edit(["show", "fps"], 30, 25)["type"] == "accepted"
    page.until(lambda m: m["type"] == "show" and m["saved"] and m["data"]["show"]["fps"] == 25)
    path.write_text(old.replace("First Try", "Typed"), "utf-8")
    answer = page.edit(["show", "fps"], 25, 26)
    assert answer["type"] == "refused" and answer["conflict"] and answer["theirs"] == 30
    if page.told["show"]["title"] != "Typed":
        page.until(lambda m: m["type"] == "show" and m["title"] == "Typed")
    assert page.told["show"]["data"]["show"]["fps"] == 30


def test_an_undo_that_leads_to_a_broken_file_hides_no_other_and_comes_back(desk):
    """It needs a palette that an editor has taken out meanwhile; then it is there again."""
    page, path = desk.page(), desk.folder / "show.toml"
    mine = '\n[palette.porch]\nstops = ["red", "white"]\n'
    path.write_text(path.read_text("utf-8") + mine, "utf-8")
    page.open()
    old = page.told["show"]["data"]["cue"][0]["layer"][0]["palette"]
    place = ["cue", 0, "layer", 0, "palette"]
    assert page.edit(place, old, "porch")["type"] == "accepted"
    assert page.edit(["show", "fps"], 30, 25, label="Frames")["type"] == "accepted"
    assert page.edit(place, "porch", old, label="Palette")["type"] == "accepted"
    page.until(lambda m: m["type"] == "show" and m["saved"])
    save(path, mine, "")
    assert page.ask("undo", file="show.toml")["type"] == "refused"
    assert page.told["show"]["undoes"] == "Frames"
    assert page.ask("undo", file="show.toml")["type"] == "accepted"
    page.until(lambda m: m["type"] == "show" and m["saved"] and m["data"]["show"]["fps"] == 30)
    path.write_text(path.read_text("utf-8") + mine, "utf-8")
    page.until(lambda m: m["type"] == "show" and m["undoes"] == "Palette")
    assert page.ask("undo", file="show.toml")["type"] == "accepted"


def test_what_is_saved_while_the_desk_begins_is_seen(house):
    """The folder was read before the watch over it began."""
    new = (house / "other.toml").read_text("utf-8").replace("Another One", "Third")
    with running(house) as desk:
        (house / "third.toml").write_text(new, "utf-8")
        save(house / "almanac.toml", "22:30", "22:45")
        page, told = desk.page(), {}
        for message in (page.told["shows"], page.told["evening"]):
            told[message["type"]] = message
        while (
            len(told["shows"]["shows"]) < 3 or "22:45" not in told["evening"]["tonight"]["sentence"]
        ):
            message = page.until(lambda m: m["type"] in ("shows", "evening"), seconds=5)
            told[message["type"]] = message


def test_a_house_and_an_effect_saved_while_the_desk_begins_are_seen(house, tmp_path_factory):
    effects = tmp_path_factory.mktemp("effects")
    with running(house, effect_folders=(effects,)) as desk:
        save(house / "house.toml", "[rail]", "[rial]")
        (effects / "broken.py").write_text("def", "utf-8")
        page = desk.page()
        while len(found := page.told["problems"]["problems"]) < 2:
            page.until(lambda m: m["type"] == "problems", seconds=5)
        assert "rial" in {p["file"]: p["sentence"] for p in found}["house.toml"]
        save(house / "house.toml", "[rial]", "[rail]")
        page.until(lambda m: m["type"] == "problems" and len(m["problems"]) == 1)


def test_a_show_that_is_deleted_is_missed_by_those_who_look_at_it_only(desk):
    text = (desk.folder / "show.toml").read_text("utf-8")
    page, other = desk.page(), desk.page()
    (desk.folder / "third.toml").write_text(text.replace("First Try", "Third"), "utf-8")
    for each in (page, other):
        each.until(
            lambda m: m["type"] == "shows" and any(s["title"] == "Third" for s in m["shows"])
        )
    first = page.open("third.toml")["number"]
    (desk.folder / "third.toml").unlink()
    for each in (page, other):
        each.until(lambda m: m["type"] == "problems" and m["problems"])
    page.open("show.toml")  # it was meant to go
    for each in (page, other):
        each.until(lambda m: m["type"] == "problems" and not m["problems"])
    # One of its name is another show, and isn't taken for one that is open still.
    (desk.folder / "third.toml").write_text(text.replace("First Try", "Fourth"), "utf-8")
    page.until(lambda m: m["type"] == "shows" and any(s["title"] == "Fourth" for s in m["shows"]))
    again = page.open("third.toml")
    assert again["title"] == "Fourth" and not again["can_undo"]
    assert again["number"] not in (first, page.open("show.toml")["number"])


def test_what_isnt_saved_of_a_show_that_is_deleted_stays(desk, monkeypatch):
    page = desk.page()
    page.open()
    text = (desk.folder / "show.toml").read_text("utf-8")
    (desk.folder / "third.toml").write_text(text.replace("First Try", "Third"), "utf-8")
    page.until(lambda m: m["type"] == "shows" and any(s["title"] == "Third" for s in m["shows"]))
    page.open("third.toml")
    session = desk.desk.hub.session
    monkeypatch.setattr(session, "save", lambda name: False)  # a disk that is slow
    assert page.edit(["show", "seed"], 1, 5, "third.toml")["type"] == "accepted"
    (desk.folder / "third.toml").unlink()
    page.until(lambda m: m["type"] == "problems" and m["problems"])
    page.open("show.toml")
    session.close_gone(set())
    assert not session.shows["third.toml"].document.saved
    assert "third.toml" in session.problems
