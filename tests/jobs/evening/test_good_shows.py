"""Shows kept for the evening on which one is not good: refused, replaced, half made, gone."""

import hashlib
import json
from pathlib import Path

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.jobs.evening.good_shows import GoodShows
from lumenmap.show.shelf import own_folder


class Kitchen:
    """Renders shows whose file's text says how they turn out."""

    def __init__(self, folder):
        self.good = GoodShows(folder, self.render, self.check)
        self.rendered, self.most = [], 200  # codes above `most` break the house's budget

    def render(self, show, folder, brightness, values):
        text = show.read_text().replace("{night}", f"{dict(values).get('night', 0):g}")
        self.rendered.append(text)
        if text.startswith("broken"):
            raise InputError("isn't TOML", file=show)
        if text.startswith("crash"):
            raise ZeroDivisionError("an effect's own mistake")
        codes = np.full((3, 2, 3), round(brightness * int(text.split()[1])), np.uint8)
        (folder / "frames.rgb").write_bytes(codes.tobytes())
        digest = hashlib.sha256(codes.tobytes()).hexdigest()
        line = {"name": "a", "first": 0, "count": 2, "universe": 1, "order": "RGB"}
        side = {
            "format": "lumenmap-frames",
            "version": 1,
            "frames": 3,
            "fps": 30.0,
            "pixels": 2,
            "channels": 3,
            "lines": [line],
            "sha256": digest,
        }
        (folder / "frames.json").write_text(json.dumps(side))

    def check(self, sidecar):
        codes = (sidecar.parent / "frames.rgb").read_bytes()
        return ["supply garage: 20.00 A of 12 A in frame 0"] if max(codes) > self.most else []


@pytest.fixture
def kitchen(tmp_path):
    (tmp_path / "shows").mkdir()
    return Kitchen(tmp_path / "kept")


def value(frames):
    return None if frames is None else int(frames.codes[0, 0, 0])


def put(tmp_path, text, name="a.toml"):
    show: Path = tmp_path / "shows" / name
    show.write_text(text)
    return show


def test_show_that_breaks_its_budget_is_refused_and_said(kitchen, tmp_path):
    show = put(tmp_path, "level 250")
    assert kitchen.good.get(show) is None
    assert kitchen.good.problems["a.toml"] == (
        "a.toml: refused: supply garage: 20.00 A of 12 A in frame 0; "
        "there is no other good show to play"
    )


@pytest.mark.parametrize("bad", ["level 255 now", "broken", "crash", None])
def test_previous_good_version_plays_when_a_show_goes_bad(kitchen, tmp_path, bad):
    show = put(tmp_path, "level 100")
    assert value(kitchen.good.get(show)) == 100
    show.unlink() if bad is None else show.write_text(bad)
    assert value(kitchen.good.get(show)) == 100
    assert "playing its previous good version" in kitchen.good.problems["a.toml"]
    assert kitchen.good.problems["a.toml"].startswith("a.toml: "), "an effect's own words name none"
    again = Kitchen(tmp_path / "kept")  # and after a restart
    assert value(again.good.get(show)) == 100
    assert "playing its previous good version" in again.good.problems["a.toml"]
    put(tmp_path, "level 120 repaired")
    assert value(again.good.get(show)) == 120 and not again.good.problems


def test_another_good_show_plays_where_there_never_was_one(kitchen, tmp_path):
    assert value(kitchen.good.get(put(tmp_path, "level 90"))) == 90
    missing = tmp_path / "shows" / "gone.toml"
    assert value(Kitchen(tmp_path / "kept").good.get(missing)) == 90


def test_show_is_rendered_once_and_again_when_it_changes(kitchen, tmp_path):
    show = put(tmp_path, "level 10")
    for _ in range(3):
        kitchen.good.get(show)
    assert kitchen.rendered == ["level 10"]
    Kitchen(tmp_path / "kept").good.get(show)
    assert kitchen.rendered == ["level 10"], "kept across restarts"
    put(tmp_path, "level 11 x")
    assert value(kitchen.good.get(show)) == 11
    assert len(list((tmp_path / "kept").glob("*/*/frames.rgb"))) == 1, "old versions are cleared"


def test_show_is_rendered_again_for_other_values_and_each_night_takes_the_lasts_place(
    kitchen, tmp_path
):
    show = put(tmp_path, "level {night}")
    for night in (1, 2, 2, 3):
        values = (("night", float(night)),)
        assert value(kitchen.good.get(show, 1.0, values)) == night
        assert not kitchen.good.changed(show, 1.0, values)
        assert kitchen.good.changed(show, 1.0, (("night", night + 1.0),))
    assert kitchen.rendered == ["level 1", "level 2", "level 3"]
    assert len(list((tmp_path / "kept").glob("*/*/frames.rgb"))) == 1, "old nights are cleared"


@pytest.mark.parametrize("restarted", [False, True])
def test_kept_show_is_counted_by_the_house_as_it_is_now(kitchen, tmp_path, restarted):
    """The house file now allows less, and the show can't be rendered: its old frames break it."""
    put(tmp_path, "level 80", "b.toml")
    kitchen.good.get(tmp_path / "shows" / "b.toml")
    show = put(tmp_path, "level 100")
    assert value(kitchen.good.get(show)) == 100
    now = Kitchen(tmp_path / "kept") if restarted else kitchen
    now.most = 90
    put(tmp_path, "amps = 5", "house.toml")
    put(tmp_path, "broken")
    assert value(now.good.get(show)) == 80, "another show's frames, that keep inside"
    assert now.good.problems["a.toml"].endswith("playing another good show")
    now.most = 70
    put(tmp_path, "amps = 4 now", "house.toml")
    assert now.good.get(show) is None
    assert now.good.problems["a.toml"].endswith("there is no other good show to play")


def test_kept_show_of_a_house_file_that_cannot_be_read_plays_on(kitchen, tmp_path):
    show = put(tmp_path, "level 100")
    kitchen.good.get(show)

    def check(sidecar, wrong=tmp_path / "house.toml"):
        raise InputError("isn't TOML", file=wrong)

    put(tmp_path, "broken")
    again = GoodShows(tmp_path / "kept", kitchen.render, check)
    assert value(again.get(show)) == 100

    def misfit(sidecar):
        raise InputError("has 2 pixels, the house 3", file=sidecar)

    assert GoodShows(tmp_path / "kept", kitchen.render, misfit).get(show) is None


@pytest.mark.parametrize("file", ["frames.rgb", "frames.json"])
@pytest.mark.parametrize("left", [b"", b"cut o", None, "zeros"])
def test_a_kept_show_that_a_power_cut_left_broken_is_made_again(kitchen, tmp_path, file, left):
    """On the next start, where the house would stay dark; at full brightness and dimmed."""
    show = put(tmp_path, "light 80")
    kitchen.good.get(show, 0.5)
    kitchen.good.keep_bright(show)
    for found in (tmp_path / "kept").rglob(file):
        if left is None:
            found.unlink()
        else:
            found.write_bytes(bytes(found.stat().st_size) if left == "zeros" else left)
    again = Kitchen(tmp_path / "kept")
    assert value(again.good.get(show, 0.5)) == 40 and not again.good.problems
    again.good.keep_bright(show)
    assert again.rendered == ["light 80"] * 2


def test_half_made_show_is_never_taken(kitchen, tmp_path):
    show = put(tmp_path, "level 10")
    kitchen.good.get(show)
    (good,) = (tmp_path / "kept").glob("*/*/good")
    good.unlink()
    again = Kitchen(tmp_path / "kept")
    assert value(again.good.get(show)) == 10 and again.rendered == ["level 10"]


def test_show_replaced_while_it_plays(kitchen, tmp_path):
    """What plays goes on whole, from the frames it was begun with; the next asking has the new."""
    show = put(tmp_path, "level 100")
    playing = kitchen.good.get(show)
    first = playing.flat()[0].copy()
    put(tmp_path, "level 120 new")
    assert (playing.flat() == first).all(), "not a byte of the new one in it"
    assert kitchen.rendered == ["level 100"], "and nothing is rendered beside it"
    assert value(kitchen.good.get(show)) == 120 and not kitchen.good.problems
    assert (playing.flat() == first).all(), "also while the old frames are cleared away"
    put(tmp_path, "level 250 too bright")
    assert value(kitchen.good.get(show)) == 120, "checked first: the one before plays on"
    assert kitchen.good.problems["a.toml"].endswith("playing its previous good version")


def test_change_is_seen_also_of_a_show_that_was_refused(kitchen, tmp_path):
    show = put(tmp_path, "level 250")
    assert kitchen.good.changed(show)
    assert kitchen.good.get(show) is None and not kitchen.good.changed(show)
    put(tmp_path, "level 90 dimmer")
    assert kitchen.good.changed(show)
    assert value(kitchen.good.get(show)) == 90 and not kitchen.good.changed(show)


def test_each_brightness_is_rendered_by_itself_and_kept(tmp_path):
    """Both stay ready, so that a dim hour begins without a gap; a broken show falls back on either."""
    kitchen = Kitchen(tmp_path / "kept")
    (tmp_path / "shows").mkdir(exist_ok=True)
    show = put(tmp_path, "level 100")
    assert value(kitchen.good.get(show)) == 100 and value(kitchen.good.get(show, 0.4)) == 40
    assert value(kitchen.good.get(show)) == 100 and len(kitchen.rendered) == 2
    assert not kitchen.good.changed(show, 0.4) and kitchen.good.changed(show, 0.5)
    again = Kitchen(tmp_path / "kept")
    assert value(again.good.get(show, 0.4)) == 40 and not again.rendered
    put(tmp_path, "broken")
    assert value(again.good.get(show, 0.4)) == 40 and value(again.good.get(show, 0.7)) == 100
    assert "playing its previous good version" in again.good.problems[show.name]


def test_a_palette_of_ones_own_that_changes_makes_a_show_new(kitchen, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    show = put(tmp_path, "level 90")
    kitchen.good.get(show)
    assert not kitchen.good.changed(show)
    own_folder().mkdir(parents=True)
    (own_folder() / "dusk.palette.toml").write_text('stops = ["red"]')
    assert kitchen.good.changed(show)


def test_of_several_brightnesses_the_last_version_plays_when_a_show_goes_bad(kitchen, tmp_path):
    """Version 1 is kept at full brightness, version 2 at 0.5: at 0.4 it is the second, dimmed."""
    show = put(tmp_path, "level 100")
    kitchen.good.get(show)
    put(tmp_path, "level 120 second")
    assert value(kitchen.good.get(show, 0.5)) == 60
    put(tmp_path, "broken")
    for good in (kitchen.good, Kitchen(tmp_path / "kept").good):
        for brightness in (1.0, 0.5, 0.4):
            assert value(good.get(show, brightness)) == 60, brightness
        assert "playing its previous good version" in good.problems["a.toml"]
        assert value(good.at_once((show, 0.4, ()))) == 60


def test_what_was_kept_elsewhere_while_a_disk_was_full_is_old_when_it_is_not(
    kitchen, tmp_path, monkeypatch
):
    """Level 110 is kept in the spare folder, level 120 where it belongs: then the show breaks."""
    monkeypatch.setattr("lumenmap.core.system.spare_folders", lambda: [tmp_path / "spare"])
    (tmp_path / "spare").mkdir()
    show, made = put(tmp_path, "level 100"), Kitchen(tmp_path / "kept")
    assert value(made.good.get(show)) == 100
    render = made.render

    def full(show, folder, brightness, values):
        if tmp_path / "kept" in folder.parents:
            raise OSError(28, "No space left on device")
        render(show, folder, brightness, values)

    put(tmp_path, "level 110 while it is full")
    made.good._render = full
    assert value(made.good.get(show)) == 110
    assert made.good.trouble.endswith("shows are kept in memory until this is mended")
    assert "the disk is full" in made.good.trouble
    again = Kitchen(tmp_path / "kept")
    assert value(again.good.at_once((show, 1.0, ()))) == 110, "killed, it finds the later one"
    made.good._render = render
    put(tmp_path, "level 120 on the disk again")
    assert value(made.good.get(show)) == 120 and not made.good.trouble
    put(tmp_path, "broken")
    assert value(made.good.get(show)) == 120
    made.good.close()
    assert not list((tmp_path / "spare").iterdir())


def test_a_broken_show_can_still_get_brighter(kitchen, tmp_path):
    show = put(tmp_path, "level 100")
    assert value(kitchen.good.get(show, 0.4)) == 40
    kitchen.good.keep_bright(show)
    kitchen.good.keep_bright(show)
    assert len(kitchen.rendered) == 2, "kept once"
    put(tmp_path, "broken")
    assert value(kitchen.good.get(show, 0.9)) == 100, "dimmed as it is sent"
    assert "playing its previous good version" in kitchen.good.problems["a.toml"]
    kitchen.good.keep_bright(show)
    assert kitchen.rendered[-1].startswith("broken") and len(kitchen.rendered) == 3


@pytest.mark.parametrize("bad", ["crash", "level 250"])
def test_what_cant_be_kept_bright_is_no_trouble(kitchen, tmp_path, bad):
    show = put(tmp_path, bad)
    kitchen.good.keep_bright(show)
    assert not kitchen.good.problems and kitchen.good.at_once((show, 1.0, ())) is None
    rendered = len(kitchen.rendered)
    kitchen.good.keep_bright(show)
    assert len(kitchen.rendered) == rendered, "not tried again before it changes"
