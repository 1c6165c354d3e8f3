"""From a browser's message to the light, the file and the other browsers."""

import tomllib

import numpy as np
import pytest

from lumenmap.codes.order import to_wire
from lumenmap.jobs.limited import limited
from lumenmap.jobs.project import load
from lumenmap.site import Site
from tests.desk.conftest import running


def test_a_page_is_told_where_things_stand(desk):
    page = desk.page()
    assert set(page.told) == {"session", "shows", "evening", "problems", "house_light"}
    session = page.told["session"]
    assert session["rights"] == "compose" and session["local"]
    assert session["house"]["name"] == "My House"
    site = Site.read(desk.folder / "house.toml")
    assert session["house"]["pixels"] == len(site.pixels)
    assert sum(e["pixels"] for e in session["house"]["edges"]) == int(site.pixels.lit.sum())
    for edge in session["house"]["edges"]:
        assert all(0 < x < 1 and 0 < y < 1 for x, y in edge["outline"]), edge
    assert [s["file"] for s in page.told["shows"]["shows"]] == ["other.toml", "show.toml"]
    chase = next(e for e in session["effects"] if e["name"] == "chase")
    speed = next(o for o in chase["options"] if o["name"] == "speed")
    assert speed["unit"] == "m/s" and speed["low"] < 0 < speed["high"] and speed["help"]


def whole(page, frames, final=True):
    """Read until every frame of the newest version has come; return codes (T, N, C)."""
    version, seen, got = page.told["show"]["version"], 0, {}
    while len(got) < frames:
        if seen == len(page.stretches):
            page.light()
        s, seen = page.stretches[seen], seen + 1
        if s.version == version and s.final >= final:
            got |= {s.first + i: codes for i, codes in enumerate(s.codes)}
    return np.stack([got[i] for i in range(frames)])


def exported(folder, name="show.toml"):
    project = load(folder / name)
    codes = np.concatenate([b.codes for b in limited(project)])
    return to_wire(codes, [(s.slice, s.order) for s in project.site.pixels.lines])


def test_the_light_is_that_of_the_export(desk):
    page = desk.page()
    show = page.open()
    assert (whole(page, show["frames"]) == exported(desk.folder)).all()
    # And so it is after an edit.
    done = page.edit(["cue", 0, "layer", 0, "speed"], meaning(page, "speed"), "2.5 m/s")
    assert done["type"] == "accepted"
    page.until(lambda m: m["type"] == "show" and m["saved"])
    assert (whole(page, show["frames"]) == exported(desk.folder)).all()


def meaning(page, key):
    return page.told["show"]["data"]["cue"][0]["layer"][0][key]


def tight(folder):
    """Make the supply so small that everything has to be dimmed."""
    path = folder / "house.toml"
    text = path.read_text("utf-8")
    lines = [
        "amps = 1.5   # small" if line.startswith("label_amps =") else line
        for line in text.splitlines()
    ]
    path.write_text("\n".join(lines) + "\n", "utf-8")


@pytest.mark.parametrize("mode", ["steady", "glide", "frame"])
def test_no_frame_is_over_a_budget_not_even_for_a_moment(house, mode):
    """Every stretch that is ever sent is counted again, whatever is edited meanwhile."""
    tight(house)
    path = house / "show.toml"
    text = path.read_text("utf-8").replace('start = "6 s"', 'start = "0 s"')  # bright at once
    path.write_text(f'{text}\n[limit]\nmode = "{mode}"\n', "utf-8")
    with running(house) as desk:
        site = Site.read(house / "house.toml")
        page = desk.page()
        page.open()
        page.light(lambda s: s.final)
        for i, opacity in enumerate((0.9, 0.2, 1.0, 0.6)):
            old = page.told["show"]["data"]["cue"][1]["layer"][0].get("opacity")
            page.send("look", file="show.toml", frame=60 * i, playing=True)
            assert page.edit(["cue", 1, "layer", 0, "opacity"], old, opacity)["type"] == "accepted"
            page.until(lambda m: m["type"] == "show")
        page.until(lambda m: m["type"] == "findings" and m["complete"])
        page.drain()
        orders = [(s.slice, s.order) for s in site.pixels.lines]
        bound = dimmed = 0
        for s in page.stretches:
            codes = from_wire(s.codes, orders)
            amps = site.budgets.amps_of(codes)
            assert (amps <= site.budgets.amps).all(), (s.version, s.first, s.final)
            supplies = [k for k, kind in enumerate(site.budgets.kinds) if kind == "supply"]
            assert np.allclose(s.amps, amps[:, supplies], rtol=1e-5)
            assert np.allclose(s.load, (amps / site.budgets.amps).max(axis=1), rtol=1e-5)
            bound += not s.final and bool((s.gain < 1).any())
            dimmed += bool((s.gain < 1).any())
        assert dimmed and (bound or mode == "frame")


def from_wire(codes, spans):
    out = np.empty_like(codes)
    for rows, order in spans:
        for k, letter in enumerate(order):
            out[:, rows, "RGBW".index(letter)] = codes[:, rows, k]
    return out


def test_an_edit_is_in_the_file_and_in_the_other_browser(desk):
    one, two = desk.page(), desk.page()
    one.open()
    two.open()
    before = (desk.folder / "show.toml").read_text("utf-8")
    assert one.edit(["show", "fps"], 30, 25, label="Frames a second")["type"] == "accepted"
    told = two.until(lambda m: m["type"] == "show" and m["data"]["show"]["fps"] == 25)
    assert told["can_undo"] and told["undoes"] == "Frames a second"
    assert told["changed_by"] == "browser"
    two.until(lambda m: m["type"] == "show" and m["saved"])
    after = (desk.folder / "show.toml").read_text("utf-8")
    assert after == before.replace("fps = 30 ", "fps = 25 ")
    # The other one takes it back.
    assert two.ask("undo", file="show.toml")["type"] == "accepted"
    one.until(lambda m: m["type"] == "show" and m["saved"] and m["data"]["show"]["fps"] == 30)
    assert (desk.folder / "show.toml").read_text("utf-8") == before
    assert two.ask("redo", file="show.toml")["type"] == "accepted"
    one.until(lambda m: m["type"] == "show" and m["saved"] and m["data"]["show"]["fps"] == 25)
    assert one.ask("restore", file="show.toml")["type"] == "accepted"
    one.until(lambda m: m["type"] == "show" and m["saved"] and m["data"]["show"]["fps"] == 30)
    assert (desk.folder / "show.toml").read_text("utf-8") == before


def test_two_browsers_edit_at_once(desk):
    one, two = desk.page(), desk.page()
    version = one.open()["version"]
    two.open()
    assert one.edit(["show", "fps"], 30, 25)["type"] == "accepted"
    # The other has not heard of it yet.
    assert two.edit(["show", "seed"], 1, 5, version=version)["type"] == "accepted"
    refused = two.edit(["show", "fps"], 30, 40, version=version)
    assert refused["type"] == "refused" and refused["conflict"]
    assert (refused["yours"], refused["theirs"]) == (40, 25)
    assert (
        refused["path"] == ["show", "fps"]
        and "Somebody changed show, fps meanwhile" in refused["sentence"]
    )
    one.until(lambda m: m["type"] == "show" and m["saved"] and m["data"]["show"]["seed"] == 5)
    data = tomllib.loads((desk.folder / "show.toml").read_text("utf-8"))
    assert (data["show"]["fps"], data["show"]["seed"]) == (25, 5)


@pytest.mark.parametrize(
    ("path", "old", "new", "why"),
    [
        (["show", "fps"], 30, 0, "above 0"),
        (["show", "fps"], 30, "many", "number"),
        (["show", "nmae"], None, "x", "no such key; did you mean"),
        (["cue", 0, "layer", 0, "effect"], "chase", "chaes", "perhaps chase"),
        (["cue", 0, "layer", 0, "palette"], "evergreen", "nope", "no palette"),
        (["cue", 0, "layer", 0, "on"], None, ["gable-lft"], "no place"),
        (["cue", 0, "layer", 0, "speed"], "", "9999 m/s", "expected"),
        (["cue", 0], {}, None, ""),
    ],
)
def test_a_refused_edit_says_why_and_leaves_file_and_light(desk, path, old, new, why):
    page = desk.page()
    page.open()
    page.until(lambda m: m["type"] == "findings" and m["complete"])
    page.drain()
    if old == "":
        old = meaning(page, "speed")
    before, light = (desk.folder / "show.toml").read_bytes(), len(page.stretches)
    refused = page.edit(path, old, new)
    assert refused["type"] == "refused" and why.lower() in refused["sentence"].lower()
    assert refused["path"] == path
    page.drain()
    assert (desk.folder / "show.toml").read_bytes() == before
    assert len(page.stretches) == light


def test_a_cue_is_put_in_and_a_layer_moved(desk):
    page = desk.page()
    show = page.open()
    cue = {"name": "calm", "start": "2 s", "length": "4 s", "layer": [{"effect": "still"}]}
    edits = [{"op": "insert", "path": ["cue", 1], "new": cue}]
    done = page.ask("edit", file="show.toml", version=show["version"], edits=edits)
    assert done["type"] == "accepted"
    told = page.until(lambda m: m["type"] == "show" and len(m["cues"]) == 3)
    assert told["cues"][1]["name"] == "calm" and told["cues"][1]["layers"][0]["effect"] == "still"
    edits = [{"op": "move", "path": ["cue", 2, "layer", 1], "to": 0}]
    done = page.ask("edit", file="show.toml", version=told["version"], edits=edits)
    assert done["type"] == "accepted"
    told = page.until(lambda m: m["type"] == "show" and m["version"] == done["version"])
    assert [layer["effect"] for layer in told["cues"][2]["layers"]] == ["glint", "gradient"]


def test_layers_that_nobody_can_see_are_found(desk):
    page = desk.page()
    show = page.open()
    edits = [
        {"op": "insert", "path": ["cue", 0, "layer", 1], "new": {"effect": "still"}},
        {"op": "set", "path": ["cue", 1, "layer", 1, "opacity"], "old": None, "new": 0},
    ]
    assert page.ask("edit", file="show.toml", version=show["version"], edits=edits)["type"] == (
        "accepted"
    )
    found = page.until(lambda m: m["type"] == "findings" and m["hidden"])
    assert [h["path"] for h in found["hidden"]] == [["cue", 0, "layer", 0], ["cue", 1, "layer", 1]]
    assert "cover it" in found["hidden"][0]["sentence"]


def test_a_new_show_is_made_and_opened(desk):
    page = desk.page()
    done = page.ask("new_show", title='Tea & "Cake"\u202e <b>')
    assert done["type"] == "refused", "a title that plays tricks isn't one"
    done = page.ask("new_show", title='Tea & "Cake"')
    assert (done["type"], done["file"]) == ("accepted", "tea-cake.toml")
    assert page.open("tea-cake.toml")["title"] == 'Tea & "Cake"'
    copy = page.ask("new_show", title="Second", copy_of="show.toml")
    assert page.open(copy["file"])["title"] == "Second"
    assert "# A show: what plays on the house" in (desk.folder / "second.toml").read_text("utf-8")


def test_colours_are_checked_before_they_are_in_a_file(desk):
    page = desk.page()
    got = page.ask("check_palette", stops=["#8b4513", {"colour": "lime", "at": 0.5}])
    assert got["type"] == "palette_checked" and len(got["strip"]) == 32
    assert "brown looks like dim orange" in got["check"]["findings"][0]
    assert page.ask("check_palette", stops=["no colour"])["type"] == "refused"


def test_memory_is_given_back_once_when_nothing_is_left_to_do(house, monkeypatch):
    from lumenmap.desk.light import live

    given = []
    monkeypatch.setattr(live, "IDLE", 0.3)
    monkeypatch.setattr(live, "give_back_memory", lambda: given.append(1))
    with running(house) as desk:
        page = desk.page()
        page.open()
        page.until(lambda m: m["type"] == "findings" and m["complete"])
        page.drain(1.0)
        assert given == [1]
        page.edit(["show", "fps"], 30, 25)
        page.until(lambda m: m["type"] == "findings" and m["complete"] and m["version"] == 2)
        page.drain(1.0)
        assert given == [1, 1]


def test_shows_are_listed_by_title_as_a_person_sorts_them(house):
    text = (house / "other.toml").read_text("utf-8")
    for name, title in (("a", "Song 10"), ("b", "song 9"), ("c", "Zither")):
        (house / f"{name}.toml").write_text(text.replace("Another One", title), "utf-8")
    with running(house) as desk:
        titles = [row["title"] for row in desk.page().told["shows"]["shows"]]
    assert titles == ["Another One", "First Try", "song 9", "Song 10", "Zither"]
