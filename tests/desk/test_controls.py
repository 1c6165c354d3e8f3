"""Keys of a show file as controls: from the models that read them, and none left out."""

import tomllib

import numpy as np
import pytest

from lumenmap.desk.describe.controls import option, value, values
from lumenmap.desk.describe.keys import SHOW, TURNS, layer_keys, tables
from lumenmap.desk.describe.show import cue_facts
from lumenmap.jobs.project import Project
from lumenmap.motion.options import FT, Choice, Count, Speed
from lumenmap.motion.ramp_reading import read_ramp
from lumenmap.motion.reading import Reading
from lumenmap.show.effects.registry import effects
from lumenmap.show.file import CueTable, LimitTable, ShowTable
from lumenmap.show.layer_file import LayerTable, TurnsTable
from lumenmap.show.load import show_from
from lumenmap.site import Site
from tests.desk.browser import SHOW as TEXT
from tests.desk.browser import house_of

MODELS = {
    "layer": LayerTable,
    "turns": TurnsTable,
    "cue": CueTable,
    "show": ShowTable,
    "limit": LimitTable,
}
#: Keys that have a place of their own on the page, or none, and why.
ELSEWHERE = {
    "layer": {
        "effect",
        "palette",
        "on",
        "except",
        "turns",
        "within",
    },  # within: an editor's, so far
    "cue": {"name", "start", "length", "fade", "fade_in", "fade_out", "layer"},
    "show": {"name", "house", "unit", "sound"},  # files and units are the folder's
}


@pytest.mark.parametrize("table", MODELS)
def test_every_key_has_a_control(table):
    keys = {field.alias or name for name, field in MODELS[table].model_fields.items()}
    shown = {option.name for option in tables("m")[table]}
    assert shown | ELSEWHERE.get(table, set()) == keys
    assert not shown & ELSEWHERE.get(table, set())


def test_a_control_says_what_the_model_says():
    layer = {option.name: option for option in tables("ft")["layer"]}
    opacity, times, pace = layer["opacity"], layer["times"], layer["pace"]
    assert (opacity.low, opacity.high, opacity.default, opacity.varies) == (0, 1, 1, True)
    assert (times.low, times.high, times.whole, times.varies) == (0, 100_000, True, False)
    assert (pace.low, pace.high, pace.unit, pace.varies) == (-100, 100, "", False)
    assert layer["clock"].choices == ["cue", "show", "turn"]
    assert "screen" in layer["blend"].choices and "a W3C blend mode" in layer["blend"].help
    assert layer["over"].unit == "s" and layer["over"].default is None
    turns = {option.name: option for option in tables("ft")["turns"]}
    assert turns["every"].varies and turns["parts"].choices == ["edges"]
    assert turns["parts"].low == 2 and "across" in turns["way"].choices
    show = {option.name: option for option in tables("ft")["show"]}
    assert show["seed"].high == 2**32 and show["tempo"].low == 10 and show["fps"].high == 240
    assert show["match_screen"].default_text == "true" and show["flashing"].kind == "text"


@pytest.mark.parametrize("unit", ["m", "ft"])
def test_a_ramp_is_told_as_it_runs(unit):
    kind = Speed("how fast", -30.0, 30.0)
    table = {"at": ["1 s", "3 s", "5 s"], "to": ["2 ft/s", "8 ft/s", "0 ft/s"], "easing": "ease-in"}
    ramp = read_ramp(kind, table, Reading(unit))
    told = value("speed", ramp, kind, unit)
    one = 1.0 if unit == "m" else FT
    assert told.number is None and told.ramp.at == [1, 3, 5]
    assert np.allclose(np.array(told.ramp.to) * one, [2 * FT, 8 * FT, 0], rtol=1e-5)
    times = np.linspace(1, 5, len(told.ramp.course))
    assert np.allclose(np.array(told.ramp.course) * one, ramp(times), atol=1e-3)
    assert told.text == f"2 ft/s to 8 ft/s to 0 {unit}/s in 4 s", "as it was written"


def test_a_default_is_told_round_and_what_is_written_as_it_is():
    """chase runs 4 ft/s if nothing is said: 1.2192 m/s."""
    spec = effects(())["chase"].options["speed"]
    shown = option(spec, "m")
    assert (shown.default, shown.default_text) == (1.2, "1.2 m/s")
    assert (shown.low, shown.high, shown.expected) == (-27, 27, "-27 m/s to 27 m/s")
    given = {"speed": spec.default}
    (told,) = values({"speed": spec}, given, "m")
    assert (told.number, told.text) == (1.2, "1.2 m/s")
    assert given["speed"] == 4 * FT, "the light doesn't change"
    for metres, number, text in ((1.234, 1.234, "1.234 m/s"), (5 * FT, 1.524, "5 ft/s")):
        (told,) = values({"speed": spec}, {"speed": metres}, "m")
        assert (told.number, told.text) == (number, text)
    assert option(spec, "ft").default_text == "4 ft/s"


def test_a_ramp_that_repeats_is_told_up_to_its_end():
    kind = Speed("how fast", -30.0, 30.0)
    table = {"from": "1 m/s", "to": "3 m/s", "over": "4 s", "repeat": True}
    told = value("speed", read_ramp(kind, table, Reading()), kind, "m")
    assert told.ramp.course[0] == 1 and 2.9 < told.ramp.course[-1] < 3
    assert told.text == "1 m/s to 3 m/s in 4 s, again and again"


def test_words_and_counts_have_no_ramp():
    assert value("n", 3, Count("", 1, 9), "m").number == 3
    told = value("w", "one", Choice("", names=("one", "two")), "m")
    assert (told.number, told.text, told.ramp) == (None, "one", None)
    assert value("n", None, SHOW["tempo"].kind, "m").text == "not set"


def project(tmp_path, more):
    house_of(tmp_path / "house")
    path = tmp_path / "house" / "show.toml"
    site = Site.read(tmp_path / "house" / "house.toml")
    raw = tomllib.loads(TEXT)
    layer = raw["cue"][0]["layer"][0]
    layer |= more
    if "over" in more:  # it stands for the speed
        del layer["speed"]
    return Project.of(show_from(raw, path, unit="m", known=effects()), site)


def test_a_layers_keys_are_told_as_they_were_read(tmp_path):
    more = {
        "opacity": "50 %",
        "delay": "250 ms",
        "pace": -2,
        "clock": "show",
        "except": ["main/rake-left"],
    }
    made = project(tmp_path, more)
    layer = cue_facts(made)[0].layers[0]
    keys = {v.name: v for v in layer.keys}
    assert keys["opacity"].number == 0.5 and keys["delay"].number == 0.25
    assert keys["pace"].number == -2 and keys["clock"].text == "show"
    assert layer.without == ["main/rake-left"] and layer.turns == []
    assert keys["over"].number is None and keys["times"].number == 0


def test_a_passage_and_turns_are_told(tmp_path):
    more = {"over": "3 s", "times": 2, "then": "held", "turns": {"every": "2 s", "parts": "edges"}}
    made = project(tmp_path, more)
    keys = layer_keys(made.show.cues[0].layers[0])
    assert (keys["over"], keys["times"], keys["then"]) == (3.0, 2, "held")
    turns = {v.name: v for v in cue_facts(made)[0].layers[0].turns}
    assert set(turns) == set(TURNS)
    assert turns["every"].number == 2 and turns["parts"].text == "edges"
