"""Plans of the long low-voltage example: side by side, fed back as house files, found to hold."""

import re
import tomllib

import numpy as np
import pytest

from lumenmap.core.units import length
from lumenmap.drawing.canvas import TextLine
from lumenmap.parts.ampacity import AMPACITY
from lumenmap.power.feeding.choose import KINDS
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.judge import Judged, ShowCodes
from lumenmap.power.feeding.picture import plans_picture
from lumenmap.power.feeding.suggest import Asked, suggest
from lumenmap.power.feeding.toml import where
from lumenmap.power.feeding.wish import peak
from lumenmap.power.report.analysis import analyse
from lumenmap.site import Site
from tests.small_house import BARE, edited

FOLDER = "sallow-barn"
#: Of the small house, in feet.
SIZES = {"width": 24, "depth": 30, "eave": 9, "overhang": 1}


@pytest.fixture(scope="module")
def barn(examples):
    return Site.read(examples / FOLDER / "house.toml")


#: A studio with a hole where there were four, and a supply to match: planned in a tenth of the time.
FEWER = [
    ('hole_spacing = "60 mm"', 'hole_spacing = "240 mm"'),
    ("pixels = 50", "pixels = 25"),
    ('spacing = "80 mm"', 'spacing = "300 mm"'),
    ("amps = 6", "amps = 1.5"),
]


@pytest.fixture(scope="module")
def studio(examples, tmp_path_factory):
    text = (examples / "kelder-studio" / "house.toml").read_text("utf-8")
    assert all(old in text for old, _ in FEWER)
    file = tmp_path_factory.mktemp("studio") / "house.toml"
    file.write_text(edited(text, FEWER), "utf-8")
    return Site.read(file)


@pytest.fixture(scope="module")
def advice(barn):
    return suggest(barn)


def fed_back(text, plan, toml):
    """The house file with a plan put where its comments say: its text, by hand as a person would.

    All wiring of the example stands behind its last comment; cuts go into the line.
    """
    head, _ = text.split("# What feeds it today")
    for line, cuts in plan.cuts:
        quoted = ", ".join(f'"{c}"' for c in cuts)
        head = head.replace(
            f'[[line]]\nname = "{line}"\n', f'[[line]]\nname = "{line}"\ncuts = [{quoted}]\n'
        )
    if plan.kind:
        head = head.replace('kind = "ws2812b-v5"', f'kind = "{plan.kind.name}"')
    return head + "\n".join(toml) + "\n"


@pytest.mark.parametrize("name", list(KINDS))
def test_every_plan_fed_back_as_a_house_file_holds(name, advice, examples, tmp_path):
    found = advice.plan(name)
    text = (examples / FOLDER / "house.toml").read_text("utf-8")
    file = tmp_path / "house.toml"
    file.write_text(fed_back(text, found.plan, advice.toml(name)), "utf-8")
    site = Site.read(file)
    assert site.verdict.dangers == () and site.verdict.solvable
    assert len(site.house.feeds) == len(found.plan.feeds)
    assert [x.cuts for x in site.house.lines] == [dict(found.plan.cuts).get("eave", ())]
    # White at the light it promises, solved with all that volts do to pixels: nothing is starved.
    level = round(255 * found.reached)
    codes = np.full((1, len(site.pixels), 3), level, np.uint8)
    drawn = site.budgets.amps_of(codes)
    assert site.budgets.utilisation(drawn)[0] <= 1 + 1e-3
    white = analyse(site, codes, "")
    assert white.volts.min() >= site.house.kind.min_volts * 1.05 - 2e-3
    for point in site.wiring.fuses:
        if point.amps is not None:
            thin = site.wiring.thinnest(site.wiring.behind(point))
            assert point.amps <= site.wiring.may_carry(*thin)


def test_check_passes_with_the_cheapest_plan(advice, examples, tmp_path, lumenmap):
    found = advice.chosen
    text = (examples / FOLDER / "house.toml").read_text("utf-8")
    toml = advice.toml(found.plan.name)
    (tmp_path / "house.toml").write_text(fed_back(text, found.plan, toml), "utf-8")
    show = (examples / FOLDER / "lantern-hour.toml").read_text("utf-8")
    (tmp_path / "show.toml").write_text(show, "utf-8")
    got = lumenmap("check", tmp_path / "show.toml")
    assert got.code == 0, got


def test_a_table_that_the_terminal_has_no_room_for_comes_as_sentences(advice):
    """At 60 columns its rows were broken in the middle."""
    wide, narrow = advice.lines(80), advice.lines(60)
    row = next(line for line in wide if line.startswith("feeds"))
    (told,) = [line for line in narrow if line.startswith("feeds") and " joints " in line]
    assert [cell for cell in row.split() if cell[0].isdigit()] == [
        word.strip(",") for word in told.split() if word[0].isdigit()
    ]
    assert not any("joints  fuses" in line for line in narrow)


def test_no_plan_takes_more_than_its_supplies_give(advice):
    for p in advice.possible:
        white = np.full((1, len(p.site.pixels), 3), round(255 * p.reached), np.uint8)
        drawn = analyse(p.site, white, "").wanted.supplies
        for supply in p.site.house.supplies:
            assert drawn[supply.name] <= supply.amps + 2e-3, p.plan.name


def test_the_table_says_what_each_gives_and_names_the_cheapest(advice):
    said = "\n".join(advice.lines())
    for name, (_, what) in KINDS.items():
        assert f"\n{name}: {what}." in said
    does = [p for p in advice.possible if p.does]
    best = min(does, key=lambda p: p.bill.money)
    assert advice.chosen is best and f"Cheapest for full white everywhere: {best.plan.name}" in said
    assert "Light by light" in said and "guesses" in said and "fault" in said
    assert all(len(row) <= 100 for row in said.splitlines() if row.startswith(best.plan.name))
    # Told by pixel and edge as well as by distance.
    assert "between pixels 50 and 51" in said and "on barn/eave-front" in said


def test_feeds_ties_and_taps_are_at_connectors(advice):
    for p in advice.possible:
        places = [f.at for f in p.plan.feeds] + [t.at for t in p.plan.taps]
        places += [t for b in p.plan.buses for t in b.ties]
        assert all(t in ("start", "end") or t.startswith("connector") for t in places)


def test_anywhere_may_feed_at_pixels(barn):
    ground = Ground(barn, 0.5, anywhere=True)
    assert any(j.text.startswith("pixel") for s in ground.stretches for j in s.joints)


def test_a_supply_that_is_too_small_is_said(studio):
    small = [studio.house.supplies[0].__class__("bench", 5.0, 0.5)]
    found = suggest(studio.rewired(supplies=tuple(small)))
    own = [p for p in found.possible if p.plan.name in ("feeds", "sections")]
    assert all(p.reached < 0.3 and "supply bench" in p.binds for p in own) and len(own) == 2
    assert not any(p.does for p in own)


@pytest.mark.parametrize("table", list(AMPACITY))
def test_it_runs_with_every_ampacity_table(table, small_map, small_house):
    from dataclasses import replace

    pixelmap = small_map((12,), kind="ws2812b", spacing=0.1)
    house = small_house(
        pixelmap, [("s", 5.0, 10.0)], [("f", "s", "line-0", "start", "14 AWG", 1.0, 1.0)]
    )
    defaults = replace(house.wire_defaults, ampacity=table, string="18 AWG stranded")
    found = suggest(Site(replace(house, wire_defaults=defaults), pixelmap))
    assert found.chosen is not None
    if 18 not in AMPACITY[table].amps:
        said = "\n".join(found.lines())
        assert f'table "{table}" has no row for 18 AWG stranded' in said and '"planner"' in said


def test_the_peak_of_a_show_is_its_brightest_string(barn):
    codes = np.zeros((3, len(barn.pixels), 3), np.uint8)
    codes[1, 50:100] = 102  # 40 % white on the second string alone
    assert peak(barn, [ShowCodes("x", codes)]) == pytest.approx(0.4, abs=1 / 255)


def test_shows_that_would_be_dimmed_are_counted(studio):
    codes = np.zeros((5, len(studio.pixels), 3), np.uint8)
    codes[:2] = 255
    found = suggest(studio, [ShowCodes("bright.toml", codes)], Asked("60%"))
    as_is = found.plan("as-is")
    assert as_is.dimmed == (("bright.toml", 2),) and not as_is.does
    assert "bright.toml: 2 frames dimmed" in "\n".join(found.lines())


@pytest.mark.parametrize("light", ["", "bright", "0%", "101%", "60"])
def test_a_light_that_is_none_is_refused(light, barn):
    from lumenmap.core.errors import InputError

    with pytest.raises(InputError, match="expected full, a level from 1% to 100%"):
        suggest(barn, (), Asked(light))


def test_shows_need_a_show(barn):
    from lumenmap.core.errors import InputError

    with pytest.raises(InputError, match="no show in the folder"):
        suggest(barn, (), Asked("shows"))


def test_an_unknown_plan_is_refused_with_a_near_one(advice):
    from lumenmap.core.errors import InputError

    with pytest.raises(InputError, match='did you mean "trunk"'):
        advice.plan("trunks")


def test_the_picture_shows_each_plan(advice):
    from lumenmap.drawing.svg import svg
    from lumenmap.power.feeding.picture import plans_picture

    drawn = svg(plans_picture(advice))
    assert all(p.plan.name in drawn for p in advice.possible if isinstance(p, Judged))


def test_the_command_prints_a_plan_for_the_house_file(lumenmap, studio, tmp_path):
    out, file = tmp_path / "plans.svg", studio.house.file
    got = lumenmap("power", file, "--plan", "sections", "--light", "10%", "-o", out)
    assert got.code == 0, got
    assert set(tomllib.loads(got.out)) == {"supply", "feed"} and out.exists()


def test_two_supplies_of_an_uncut_line_are_both_kept_and_cut_apart(studio):
    """The wiring there is dangerous; it is planned all the same."""
    from dataclasses import replace

    from lumenmap.house.supplies import Feed, Supply

    feeds = (
        Feed("a", "left", "gable", "start", "12 AWG", 2.0, 4.0),
        Feed("b", "right", "gable", "end", "12 AWG", 2.0, 4.0),
    )
    supplies = (Supply("left", 5.0, 3.0), Supply("right", 5.0, 3.0))
    site = studio.rewired(supplies=supplies, feeds=feeds, buses=())
    assert site.verdict.dangers
    found = suggest(site, (), Asked("30%"))
    cut = found.plan("sections")
    assert {f.supply for f in cut.plan.feeds} == {"left", "right"} and cut.does
    assert replace(cut.plan, cuts=()).site(site).verdict.dangers and not cut.site.verdict.dangers
    (said,) = [s for s in found.lines() if s.startswith("as-is: not possible, since dangerous")]
    assert said.endswith(".") and not said.endswith("..")


@pytest.mark.parametrize(("unit", "reach", "step"), [("ft", "10 ft", 0.5), ("m", "3 m", 0.1)])
def test_what_is_estimated_is_round_in_the_unit_of_the_house(tmp_path, unit, reach, step):
    """Lead-ins up to the next half foot or 10 cm: nobody measures a guess to 1/16 in."""
    text = BARE.replace('"ft"', f'"{unit}"')
    if unit == "m":
        text = text.replace("width = 24\ndepth = 30\neave = 9", "width = 7.3\ndepth = 9\neave = 3")
        text = text.replace("overhang = 1", "overhang = 0.3")
    (tmp_path / "house.toml").write_text(f"{text}\n[string]\npixels = 20\n{FEED}")
    advice = suggest(Site.read(tmp_path / "house.toml"))
    said = "\n".join(advice.lines())
    assert "are guesses, in no currency, good for comparing plans: write yours" in said
    told = [m.text for m in plans_picture(advice).marks if isinstance(m, TextLine)]
    assert any(re.fullmatch(r"cost [\d.]+, \d+ h of work", t) for t in told)
    assert any(re.fullmatch(r"\d+ % of white, [\d.]+ V or more", t) for t in told)
    assert f"each within {reach} of its end of the line" in said
    plans = [advice.plan(name) for name in KINDS if name != "volts"]  # there are none of more volts
    found = [w for p in plans for w in where(p.plan, p.site)]
    lengths = [m[1] for w in found if (m := re.search(r"about ([^:]+):", w))]
    assert lengths
    for text in lengths:
        count = float(length(text) / length(step, unit))
        assert abs(count - round(count)) < 1e-9, text


FEED = '[[feed]]\nsupply = "garage"\nto = "front"\nwire = "14 AWG"\nlength = 4.03\nfuse = 5\n'


def test_a_plan_has_lengths_of_wire_that_a_tape_shows(tmp_path, lumenmap):
    """It had length = 0.152 for a feed of 6 in, and estimates to the millimetre."""
    feet = [(f"{key} = {n}\n", f'{key} = "{n} ft"\n') for key, n in SIZES.items()]
    feed = '[[feed]]\nsupply = "garage"\nto = "front"\nlength = "6 in"\nfuse = 5\n'
    (tmp_path / "house.toml").write_text(edited(BARE, [('"ft"', '"m"'), *feet]) + feed)

    def lengths(plan):
        got = lumenmap("power", tmp_path, "--plan", plan)
        return [f["length"] for f in tomllib.loads(got.out)["feed"]]

    assert lengths("as-is") == ["6 in"]
    assert all(metres == round(metres, 2) for metres in lengths("feeds"))


@pytest.mark.parametrize(("unit", "long"), [("ft", 1), ("in", 12)])
def test_a_tap_is_a_foot_long_in_a_house_of_feet_or_inches(tmp_path, lumenmap, unit, long):
    """A trunk's taps had length = 0.984, and 11.811: 30 cm."""
    feet = [(f"{key} = {n}\n", f'{key} = "{n} ft"\n') for key, n in SIZES.items()]
    (tmp_path / "house.toml").write_text(edited(BARE, [('"ft"', f'"{unit}"'), *feet]) + FEED)
    got = lumenmap("power", tmp_path, "--plan", "trunk")
    taps = tomllib.loads(got.out)["tap"]
    assert taps and all(tap["length"] == long for tap in taps)
