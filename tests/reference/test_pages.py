"""The reference pages say of every key what the models say, fit a terminal, and read as HTML."""

import re
from html.parser import HTMLParser

import pytest

from lumenmap.almanac.file import AlmanacFile
from lumenmap.camera.marks.file import MarksFile
from lumenmap.house.reading.file import HouseFile
from lumenmap.parts.kinds import PIXEL_KINDS
from lumenmap.reference.keys import _models, written
from lumenmap.reference.terminal import lines
from lumenmap.reference.topics import LISTING, TOPICS, page
from lumenmap.show.effects.registry import effects
from lumenmap.show.file import LimitTable, ShowFile

FILES = {"house": HouseFile, "show": ShowFile, "almanac": AlmanacFile, "marks": MarksFile}


def rows(topic, title, unit="ft"):
    (found,) = (s for s in page(topic, unit).sections if s.title == title)
    return {row[0]: row[1:] for row in found.rows}


@pytest.mark.parametrize("topic", FILES)
def test_every_key_of_every_table_has_a_row_that_says_what_it_means(topic):
    shown = {row[0] for s in page(topic).sections for row in s.rows}
    like = {row[1] for row in written(FILES[topic]).rows}
    for model in list(_models(FILES[topic]))[1:]:
        for name, field in model.model_fields.items():
            key = field.alias or name
            is_table = any(key in s.title for s in page(topic).sections)
            assert key in shown or is_table, f"{model.__name__}.{key}"
            assert field.description or is_table, f"{model.__name__}.{key} says nothing"
            assert field.description not in like, f"{model.__name__}.{key} says only its type"


def test_types_ranges_and_defaults_are_the_models_own():
    rail, mass, pixel = (rows("house", t) for t in ("[rail]", "[[mass]]", "[pixel]"))
    assert rail["pixels"] == ("whole number, 1 to 10,000", "Number of holes in a stock rail.")
    assert rail["remainder"][1].endswith('Default: "both".')
    assert mass["roof"][0] == '"gable", "hip", "shed" or "flat"'
    assert mass["width"] == ("length over 0", "Left to right, wall to wall. Required.")
    assert mass["position"] == (
        "list of 2 lengths",
        "x, y of its front-left wall corner. Default: [0, 0].",
    )
    assert pixel["channel_ma"][0] == "list of 3 to 4 currents (mA), 0 to 5,000"
    assert pixel["pwm_hz"][0] == "number, over 0, at most 1,000,000"
    assert rows("house", "[[edge]]")["points"][0] == "list of 2 or more points"
    assert rows("house", "[[line]]")["path"][0] == "list of texts or tables"
    assert rows("house", "[buying]")["prices"][0] == "table of numbers, 0 to 1,000,000, by name"
    assert rows("show", "[[cue.layer]]")["opacity"][0] == "share, 0 to 1, or a ramp"
    assert rows("show", "A ramp, in place of a number")["repeat"][0] == "true or false"
    assert rows("show", "[show]")["seed"][0] == "whole number, 0 to below 4,294,967,296"
    assert rows("almanac", "[[rule]]")["on"] == (
        "day or list of days",
        "The days it plays. Required.",
    )
    assert rows("formats", "frames.json")["channels"] == ("3 or 4", "Bytes of a pixel.")


def test_limit_has_a_page_with_each_of_its_keys():
    shown = rows("limit", "[limit]")
    assert set(shown) == set(LimitTable.model_fields)
    assert shown["mode"][0] == '"steady", "glide" or "frame"'
    assert shown["slew"][0] == "number, 0.01 to 100" and "Default: 0.5." in shown["slew"][1]


def test_every_effect_and_option_is_there_in_the_unit_asked_for():
    shown = {s.title: s for s in page("effects").sections}
    for effect in effects().values():
        assert [r[0] for r in shown[effect.name].rows] == list(effect.options)
    assert rows("effects", "chase")["speed"][0] == "-90 ft/s to 90 ft/s"
    assert rows("effects", "chase", "m")["speed"][0] == "-27 m/s to 27 m/s"


def test_every_pixel_kind_says_where_its_figures_are_from():
    figures, sources = rows("kinds", "Figures"), rows("kinds", "Where the figures are from")
    assert set(figures) == set(sources) == set(PIXEL_KINDS)
    assert figures["sk6812-rgbw"] == ("GRBW", "5", "4.5", "20", "1", "40", "80")
    for source in sources.values():
        assert re.search(r"\[(P2?|M|C|K)\]", source[0]), source


@pytest.mark.parametrize("topic", TOPICS)
@pytest.mark.parametrize("width", [40, 60, 72, 80, 100])
def test_no_line_is_wider_than_the_terminal(topic, width):
    text = lines(page(topic), width)
    assert max(map(len, text)) <= width
    assert not any("Undefined" in line or "None" in line for line in text)


def test_a_narrow_terminal_has_a_key_and_its_kind_over_what_it_means():
    text = lines(page("house"), 60)
    at = text.index("  depth: length over 0")
    assert text[at + 1].startswith("    ") and text[at - 1] != ""


@pytest.mark.parametrize("topic", TOPICS)
@pytest.mark.parametrize("width", [60, 80])
def test_wrapping_loses_no_word(topic, width):
    words = " ".join(lines(page(topic), width)).split()
    for section in page(topic).sections:
        for word in " ".join([section.title, section.lead, *(r[-1] for r in section.rows)]).split():
            if len(word) < 15 and "-" not in word:  # longer ones may be broken
                assert word in words, word


def test_the_command_lists_topics_and_prints_one(lumenmap):
    listed = lumenmap("help").out
    assert all(f"lumenmap help {topic} " in f"{listed} " for topic in LISTING)
    assert "[limit]" in lumenmap("help", "limit").out
    from lumenmap.cli import COMMANDS

    for command in COMMANDS:
        assert lumenmap("help", command.rstrip("_")).code == 0
    assert "--as-powered" in lumenmap("help", "preview").out
    assert "lumenmap palette new" in lumenmap("help", "palette").out
    lumenmap("help", "supplies").fails(2, r'no topic "supplies"; it is in lumenmap help house \(')
    lumenmap("help", "fuses").fails(2, r"lumenmap help house \(under \[\[feed\]\], ")
    lumenmap("help", "hose").fails(2, r'no topic "hose"; did you mean "house"\? Topics: almanac, ')
    lumenmap("help", "house", "--unit", "yd").fails(2, r'--unit: is "yd"; expected ft or m')


def test_commands_are_in_the_order_of_help(lumenmap):
    from lumenmap.cli import COMMANDS

    named = re.findall(r"^  lumenmap (\w+)", lumenmap("help", "commands").out, re.M)
    assert list(dict.fromkeys(named)) == [c.rstrip("_") for c in COMMANDS]


class Balanced(HTMLParser):
    """Reads HTML, and holds that every tag is closed and every id is one of a kind."""

    def __init__(self):
        super().__init__()
        self.open, self.ids, self.links, self.text = [], [], [], []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.ids += [given["id"]] if "id" in given else []
        self.links += [given["href"]] if "href" in given else []
        assert "src" not in given
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def test_html_is_whole_self_contained_and_its_links_lead_somewhere(lumenmap, tmp_path):
    out = tmp_path / "reference.html"
    assert lumenmap("help", "--html", out).code == 0
    read = Balanced()
    read.feed(out.read_text("utf-8"))
    assert read.open == []
    assert len(set(read.ids)) == len(read.ids)
    assert {link.removeprefix("#") for link in read.links} <= set(read.ids)
    text = "".join(read.text)
    for word in (
        "hole_spacing",
        "[limit]",
        "flakefall",
        "ws2812b",
        "lumenmap-frames",
        "--multicast",
    ):
        assert word in text


def test_every_example_of_how_a_value_is_written_is_read():
    from lumenmap.almanac.days import parse_days
    from lumenmap.almanac.times import parse_time
    from lumenmap.core import units
    from lumenmap.house.reading.slopes import read_slope
    from lumenmap.motion.reading import Reading
    from lumenmap.parts.wires import wire

    readers = {
        "day": lambda text: parse_days(text, "US"),
        "time of day": parse_time,
        "length": units.length,
        "slope": read_slope,
        "angle": units.angle,
        "wire size": wire,
        "voltage": lambda text: units.plain(text, "V", what="it"),
        "current (A)": lambda text: units.plain(text, "A", what="it"),
        "current (mA)": lambda text: units.plain(text, "mA", what="it"),
        "time": Reading(beat=1).exact_duration,
    }
    tried = set()
    for file in FILES.values():
        for name, like in written(file).rows:
            for text in re.findall(r'"([^"…]+)"', like) if name in readers else ():
                readers[name](text)
                tried.add(name)
    assert tried == set(readers)


def test_html_escapes_what_it_shows():
    from lumenmap.reference.html import html
    from lumenmap.reference.page import KEYS, Page, Section

    odd = "<b> & `<i>`"
    text = html([Page("t", odd, (odd,), (Section(odd, odd, KEYS, ((odd, odd, odd),)),))], odd)
    read = Balanced()
    read.feed(text)
    assert "<b>" not in text and "<i>" not in text
    # Title, heading, link, page and section titles and leads, and three cells.
    assert "".join(read.text).count("<b> & ") >= 9


def test_plurals_of_the_files_own_words():
    """`what it counts` had an s more."""
    assert rows("almanac", "[[rule]]")["values"][0].startswith(
        "table of numbers, or what they count"
    )
    """`list of 2 numberss` was another."""
    points = rows("marks", "[[trace]]")["points"][0]
    assert points == "list of 2 or more lists of 2 numbers, -20,000 to 40,000"
