"""The power report, its warnings, its plots, and light as the wiring gives it."""

import json
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from lumenmap.cli.shared.wording import refresh
from lumenmap.drawing.canvas import Stroke, TextLine
from lumenmap.drawing.svg import svg
from lumenmap.house.supplies import Bus, Supply
from lumenmap.pictures.options import PreviewOptions
from lumenmap.power.limits.budgets import budgets
from lumenmap.power.limits.refresh import refresh_problems
from lumenmap.power.report.plots import amps_over_time, volts_along
from lumenmap.power.report.powered import as_powered
from lumenmap.power.report.report import power_report, trace
from lumenmap.site import Site


def test_watts_in_are_watts_lit_and_watts_lost(two_lines):
    house, pixelmap = two_lines
    white = power_report(Site(house, pixelmap)).white
    lit = float((white.volts * white.steady_state.amps[0]).sum())
    assert white.drawn_watts == pytest.approx(lit + white.lost_watts, rel=1e-9)
    assert white.supplies["garage"] == pytest.approx(sum(white.feeds.values()))
    assert white.supplies["garage"] == pytest.approx(80 * 0.0562)


def warnings(house, pixelmap):
    return "\n".join(map(str, power_report(Site(house, pixelmap)).findings))


def test_findings_say_what_is_wrong(two_lines):
    house, pixelmap = two_lines
    text = warnings(house, pixelmap)
    assert 'Supply "garage" (2.5 A; full white takes 4.50 A): the limiter' in text
    assert 'Feed "b" (1.69 A): full white takes more than the 0.8 A that a fuse of 1 A' in text
    takes = power_report(Site(house, pixelmap)).white.wanted.feeds["b"]
    fuses = {f.name: f for f in house.feeds}
    # A fuse that carries as much, but for what isn't told.
    fits = replace(house, feeds=(fuses["a"], replace(fuses["b"], fuse=(takes - 0.0004) / 0.8)))
    assert 'Feed "b" (1.69 A): full white takes' not in warnings(fits, pixelmap)
    big = replace(house, feeds=(replace(fuses["a"], fuse=15.0), replace(fuses["b"], fuse=None)))
    text = warnings(big, pixelmap)
    assert "a fuse of 15 A doesn't protect the string's own wire, 18 AWG" in text
    assert "Fit a fuse of 5 A at most, or use thicker wire." in text
    assert 'Feed "b": no fuse, and' in text
    odd = replace(house, feeds=(replace(fuses["a"], fuse=6.0), fuses["b"]))
    assert (
        'Feed "a" (6 A): there is no blade fuse of that rating. Ratings: 1, 2, 3, 4, 5, 7.5'
        in warnings(odd, pixelmap)
    )
    bare = replace(house, feeds=())
    assert 'Lines "line-0" and "line-1": no feed, so' in warnings(bare, pixelmap)
    bus = replace(house, buses=(Bus("b", "line-0", "14 AWG", "start", "end", 1.0),))
    assert "NEC 310.10(G)" in warnings(bus, pixelmap)
    strong = replace(house, supplies=(Supply("garage", 12.0, 30.0),))
    text = warnings(strong, pixelmap)
    # 5 A [M], and 25 A an output of low-voltage lighting [P: NEC 411]; 5 / 0.0562 = 88 [K].
    assert "more than Class 2 allows, 5 A at 12 V, enough for 88 of these pixels" in text
    assert "at most 25 A" in text


def test_one_cause_is_one_finding_that_names_every_place(two_lines):
    house, pixelmap = two_lines
    feeds = tuple(replace(feed, fuse=1.0) for feed in house.feeds)
    buses = tuple(Bus(f"b{i}", f"line-{i}", "14 AWG", "start", "end", 1.0) for i in (0, 1))
    twice = replace(
        house,
        feeds=feeds,
        supplies=(*house.supplies, Supply("attic", 12.0, 7.0), Supply("shed", 12.0, 6.0)),
    )
    text = warnings(twice, pixelmap)
    assert text.count("the 125 % rule") == 1
    assert 'Feeds "a" (1.61 A), "b" (1.69 A) and "c" (1.20 A): full white takes more' in text
    assert 'Buses "b0" and "b1": a bus is connected' in warnings(
        replace(house, buses=buses), pixelmap
    )
    assert 'Supplies "attic" (7 A) and "shed" (6 A): more than Class 2 allows' in text


def test_low_volts_are_found_and_placed(small_map, small_house):
    pixelmap = small_map((150,), kind="ws2812b", spacing=0.05)
    house = small_house(
        pixelmap, [("s", 5.0, 20.0)], [("f", "s", "line-0", "start", "14 AWG", 2.0, 20.0)]
    )
    report = power_report(Site(house, pixelmap))
    line, texts = report.white.lines[0], str(report.findings[1])
    assert line.pixel == 150 and line.at == pytest.approx(149.5 * 0.05)
    assert line.short == (report.white.volts < 4.5).sum() > 50
    assert "get less than the 4.5 V they need" in texts
    assert "Blue and green fade before red" in texts
    # Held to what the fuse and the string allow it is brighter at the far end.
    assert report.limited is not None and report.limited.volts.min() > report.white.volts.min()


def test_the_report_names_its_tables_and_cautions(two_lines):
    report = power_report(Site(*two_lines))
    text = "\n".join(report.lines())
    for words in (
        'table "planner"',
        "ASTM B258",
        "ISO 8820-3",
        "licensed electrician",
        "at least 3 m",
        "Local code",
        "WS2811 datasheet",
    ):
        assert words in text, words
    assert "safe" not in text.lower()
    data = report.report()
    assert json.loads(json.dumps(data))["cases"][0]["title"] == "Full white everywhere"


def test_a_shows_worst_frame_is_found(two_lines):
    house, pixelmap = two_lines
    codes = np.full((30, 80, 3), 40, np.uint8)
    codes[21, 40:50] = 255
    site = Site(house, pixelmap)
    held = site.budgets
    seen = trace([codes[:11], codes[11:]], site, "Test", 30.0)
    assert seen.frame == 21 and (seen.lowest == codes[21:22]).all()
    assert (seen.amps == held.amps_of(codes)).all()
    report = power_report(site, seen)
    assert report.worst is not None and "frame 21 at 0.70 s" in report.worst.title
    drawn = svg(volts_along(report)), svg(amps_over_time(seen, held))
    for text in drawn:
        ElementTree.fromstring(text)
        assert not re.search(r"nan|inf", text)
    assert "minimum: 9.6 V" in drawn[0] and "budget: 2.5 A" in drawn[1]


def test_plots_thin_long_shows_and_keep_spikes(two_lines):
    house, pixelmap = two_lines
    codes = np.zeros((9000, 80, 3), np.uint8)
    codes[4567] = 30
    held = budgets(house, pixelmap)
    seen = trace([codes], Site(house, pixelmap), "A & B <c>", 30.0)
    page = amps_over_time(seen, held)
    text = svg(page)
    assert len(text) < 200_000 and "A &amp; B &lt;c&gt;" in text
    curve = next(m for m in page.marks if isinstance(m, Stroke) and len(m.points) > 1000)
    heights = sorted(y for _, y in curve.points)
    assert heights[0] < heights[1] - 5, "the peak of one frame in 9,000 is drawn"
    seconds = [float(m.text) for m in page.marks if isinstance(m, TextLine) and m.text.isdigit()]
    assert max(seconds) == 250, "marks each 50 s; the last of 9,000 frames is just before 300 s"


def test_an_unfed_far_end_turns_warm_and_dim(small_map, small_house):
    pixelmap = small_map((200,), kind="ws2812b", spacing=0.15)
    house = small_house(
        pixelmap, [("s", 5.0, 20.0)], [("f", "s", "line-0", "start", "14 AWG", 2.0, 20.0)]
    )
    light = as_powered(Site(house, pixelmap))(np.full((2, 200, 3), 255, np.uint8))
    near, far = light[0, 0], light[0, -1]
    assert (near > 0.99).all()
    assert far[0] < 0.6 and far[2] < 0.4 * far[0]  # dim, and red outlasts blue
    assert (np.diff(light[0, :, 2]) <= 1e-6).all() and (light[0] == light[1]).all()
    dark = as_powered(Site(house, pixelmap))(np.full((1, 200, 3), 2, np.uint8))
    assert dark == pytest.approx(2 / 255, rel=1e-5)  # a dim show has all its volts


def test_lines_too_long_to_refresh(small_map):
    pixelmap = small_map((1102, 300), kind="ws2811-12v")
    problems = refresh_problems(pixelmap, 30.0)
    assert [p.line for p in problems] == ["line-0"]
    several = refresh([p.report() for p in refresh_problems(small_map((1102, 1500)), 30.0)])
    assert several == [
        '  PROBLEM: lines "line-0" (1,102 pixels, at most 29.9 frames/s) and "line-1" (1,500 pixels, '
        "at most 22 frames/s): too many pixels on one data wire for the show's 30 frames/s; lower "
        "fps to 22, or split the line between two outputs"
    ]
    # 800 kb/s and 280 us of reset: 1,101 pixels at 30 frames/s [K].
    assert problems[0].most_fps == pytest.approx(1e6 / (1102 * 30 + 280))
    assert refresh_problems(small_map((1101,)), 30.0) == []


def test_the_command(tmp_path, lumenmap, house_texts):
    file = tmp_path / "house.toml"
    file.write_text(house_texts["branches"])
    got = lumenmap("power", file, "--plots", tmp_path / "plots")
    assert got.code == 0 and "volts.svg" in got.out
    assert (tmp_path / "plots" / "volts.svg").read_text().startswith("<svg")
    data = json.loads(lumenmap("power", file, "--suggest", "--light", "30%", "--json").out)
    assert "sections" in {p["name"] for p in data["plans"]} and data["light"] == 0.3
    lumenmap("power", file, "--suggest", "--all").fails(2, "--all belong to the report")
    lumenmap("power", file, "--light", "50%").fails(2, "--light.* go with --suggest")
    lumenmap("power", tmp_path / "hose.toml").fails(2, 'no such file .*did you mean "house.toml"')


def test_a_preview_as_powered_differs_where_volts_are_short(tmp_path):
    from lumenmap.jobs.preview import preview
    from lumenmap.jobs.project import load

    (tmp_path / "house.toml").write_text(
        """
house = { name = "Far End", unit = "m" }
rail = { hole_spacing = "50 mm" }
pixel = { kind = "ws2812b" }
mass = [{ name = "hut", roof = "gable", width = 5, depth = 4, eave = 2.5, slope = "8/12" }]
line = [{ name = "front", path = ["hut/rake-left", "hut/rake-right"] }]
supply = [{ name = "box", volts = 5, amps = 20 }]
feed = [{ supply = "box", to = "front", wire = "10 AWG", length = 1, fuse = 25 }]
wiring = { string = "16 AWG" }
"""
    )
    (tmp_path / "show.toml").write_text(
        """
show = { house = "house.toml", fps = 2, length = "1 s", match_screen = false }
palette.white.stops = ["#fff"]
[[cue]]
layer = [{ effect = "gradient", palette = "white" }]
"""
    )
    work = load(tmp_path / "show.toml")
    made = []
    for powered in (False, True):
        done = preview(
            work, tmp_path / "p.gif", PreviewOptions(width=96, fps=1, as_powered=powered)
        )
        made.append(((tmp_path / "p.gif").read_bytes(), done.notes))
    assert made[0][0] != made[1][0]
    assert made[0][1] == []
    said, last = made[1][1][0], len(work.site.pixels)
    assert said.startswith(
        f'as powered: line "front", pixel {last} (hut/rake-right, 2.98 m) keeps '
    )
    assert "% of its light at 0:00.0; of 120 pixels, " in said


def test_a_preview_as_powered_says_when_it_shows_nothing(examples, tmp_path):
    from lumenmap.jobs.preview import preview
    from lumenmap.jobs.project import load

    work = load(examples / "kelder-studio" / "lantern-walk.toml")
    options = PreviewOptions(width=96, fps=1, seconds=2, as_powered=True)
    (note,) = preview(work, tmp_path / "p.gif", options).notes
    assert "keeps all of its light, so nothing looks different" in note
