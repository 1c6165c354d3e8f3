"""Each example runs: every show on its house, every almanac; no frame over a budget, no flashes."""

import re
import tomllib
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
SHOWS = sorted(p for p in EXAMPLES.glob("*/*.toml") if "cue" in tomllib.loads(p.read_text()))
ALMANACS = sorted(EXAMPLES.glob("*/almanac.toml"))


def name(path):
    return f"{path.parent.name}/{path.stem}"


def test_every_house_has_a_show():
    assert {p.parent for p in SHOWS} == {p.parent for p in EXAMPLES.glob("*/house.toml")}


@pytest.mark.parametrize("show", SHOWS, ids=name)
def test_show_keeps_its_budgets_and_is_recounted(show, tmp_path, lumenmap):
    done = lumenmap("export", show, "-o", tmp_path)
    assert done.code == 0, done
    assert "PROBLEM" not in done.out
    # Else stream and run refuse it, and somebody who copies it may be harmed.
    assert "FLASHING" not in done.out + done.err
    house = show.parent / "house.toml"
    assert lumenmap("check", tmp_path / "frames.json", "--house", house).code == 0


@pytest.mark.parametrize("show", SHOWS, ids=name)
def test_show_plays_on_every_other_house(show, lumenmap):
    """One show plays on any house, but for what it lays on that house's own groups.

    Each is tried on one, and every house has a show of another.
    """
    if re.search(r"\b(on|except) = |\[\[route\]\]", show.read_text()):
        pytest.skip("lies on places that only its own house has")
    others = sorted(h for h in EXAMPLES.glob("*/house.toml") if h.parent != show.parent)
    house = others[-SHOWS.index(show) % len(others)]
    assert lumenmap("check", show, "--house", house).code == 0, house


@pytest.mark.parametrize("almanac", ALMANACS, ids=name)
def test_almanac_says_what_plays_tonight(almanac, lumenmap):
    assert lumenmap("tonight", almanac).code == 0


@pytest.mark.parametrize("house", sorted(EXAMPLES.glob("*/house.toml")), ids=name)
def test_house_has_its_sheets(house, tmp_path, lumenmap):
    """With its own prices, too: those of wire that only other plans take are allowed."""
    assert lumenmap("sheets", house, "-o", tmp_path / "sheets").code == 0
