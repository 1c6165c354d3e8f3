"""The short power report: what binds comes first, then what matters for the shows that exist."""

import json
import re

import pytest

from lumenmap.power.report.binding import binding
from lumenmap.power.report.brief import MOST_LINES
from lumenmap.power.report.findings import findings, more_light
from lumenmap.power.report.report import power_report
from lumenmap.site import Site
from tests.small_house import WALL

SHOW = """
[show]
house = "house.toml"
fps = 10
length = 0.5
[palette.ink]
stops = ["{0}"]
[[cue]]
[[cue.layer]]
effect = "still"
palette = "ink"
"""


def wall(feeds, *, amps=40, string="14 AWG"):
    return (
        WALL.partition("supply =")[0]
        + f'supply = [{{ name = "one", volts = 12, amps = {amps} }}]\n'
        + f'string.wire = "{string}"\nwiring.conductors = 2\n'
        + "".join(
            f'[[feed]]\nname = "f{i}"\nsupply = "one"\nto = "all"\nat = "{at}"\n'
            f'wire = "10 AWG"\nlength = 1\nfuse = {fuse}\n'
            for i, (at, fuse) in enumerate(feeds)
        )
    )


def test_three_equal_fuses_bind_and_the_supply_does_not(small_map, small_house):
    """223 pixels of 55.5 mA and 0.7 mA idle behind 80 % of 5 A: (4 - 0.156) / 12.38 = 31 % [K]."""
    pixelmap = small_map((223, 223, 223))
    feeds = [(f"f{i}", "s", f"line-{i}", "start", "10 AWG", 1.0, 5.0) for i in range(3)]
    site = Site(small_house(pixelmap, [("s", 12.0, 40.0)], feeds))
    site.__dict__["pixels"] = pixelmap
    found = binding(site)
    assert found.level == pytest.approx((4 - 223 * 0.0007) / (223 * 0.0555))
    assert found.sentence == (
        "Your three 5 A fuses hold this house to 31 % of full white; the supply could give 100 %."
    )


@pytest.mark.parametrize(
    ("feeds", "amps", "says"),
    [
        ([("start", 15)], 5, 'Your supply "one" of 5 A holds this house to 17 % of full white; f'),
        ([("start", 5)], 40, 'Your 5 A fuse of "f0" holds this house to 13 % of full white; the '),
        (
            [("start", 7.5), ("end", 7.5)],
            12,
            "two 7.5 A fuses hold this house to 42 % of full white; the supply gives no more",
        ),
    ],
)
def test_what_binds_is_named(tmp_path, feeds, amps, says):
    (tmp_path / "house.toml").write_text(wall(feeds, amps=amps))
    assert says in binding(Site.read(tmp_path / "house.toml")).sentence


def test_a_house_that_may_be_white_says_so(tmp_path):
    text = wall([("start", 1)]).replace("[10, 0, 3]", "[0.2, 0, 3]")
    (tmp_path / "house.toml").write_text(text)
    assert "at full white everywhere" in binding(Site.read(tmp_path / "house.toml")).sentence


def test_the_command_prints_one_screen_and_the_rest_with_all(tmp_path, lumenmap):
    (tmp_path / "house.toml").write_text(wall([("start", 5)], amps=8, string="18 AWG"))
    (tmp_path / "dim.toml").write_text(SHOW.format("#222"))
    (tmp_path / "bright.toml").write_text(SHOW.format("white"))
    (tmp_path / "broken.toml").write_text("[show]\nfps = 'many'\n")
    got = lumenmap("power", tmp_path)
    lines = got.out.splitlines()
    assert got.code == 0 and len(lines) <= MOST_LINES
    assert lines[0].startswith("Your ") and lines[0].endswith(".")
    assert any(x.startswith("dim.toml: runs undimmed; at most ") for x in lines)
    assert any(x.startswith("bright.toml: 5 of 5 frames dimmed, the darkest to ") for x in lines)
    assert any(x.startswith("broken.toml isn't measured: broken.toml: ") for x in lines)
    # 500 pixels of 56.2 mA want 28.1 A [K], whatever the voltage leaves of it.
    assert any("Full white takes 28.1" in x and "would flow" in x for x in lines)
    assert lines[-2] == f"lumenmap power {tmp_path} --suggest compares ways to feed it."
    assert lines[-1].startswith(f"lumenmap power {tmp_path} --all adds 1 warning at full white, ")
    long = lumenmap("power", tmp_path, "--all").out
    assert len(long.splitlines()) > MOST_LINES and "Class 2" in long and "ISO 8820-3" in long
    assert "Keep supplies out of attics and cupboards" in long
    data = json.loads(lumenmap("power", tmp_path, "--json").out)
    assert data["binding"]["sentence"] == lines[0]
    assert [show["file"] for show in data["shows"]] == ["bright.toml", "dim.toml"]


def test_a_show_that_starves_its_pixels_is_what_matters(tmp_path, lumenmap):
    text = wall([("start", 2)], amps=20, string="20 AWG")
    (tmp_path / "house.toml").write_text(text.replace("20 mm", "60 mm"))
    (tmp_path / "dim.toml").write_text(SHOW.format("#111"))
    got = lumenmap("power", tmp_path).out
    assert "WARNING" not in got  # at full white pixels get too little, but nothing gets there
    assert (
        " --all adds 1 warning at full white, " in got.splitlines()[-1]
    )  # but it is said to be there
    made = lumenmap("sheets", tmp_path, "-o", tmp_path / "sheets").out
    more = f"or run lumenmap power {tmp_path / 'house.toml'} --all"
    assert f"POWER: 1 warning at full white; see Wires to the line in the sheets, {more}" in made
    assert "get less than" in lumenmap("power", tmp_path, "--all").out


def test_no_fuse_is_advised_that_the_wire_behind_cannot_take(tmp_path):
    (tmp_path / "house.toml").write_text(wall([("start", 5)], string="18 AWG"))
    site = Site.read(tmp_path / "house.toml")
    report = power_report(site)
    text = "\n".join([*report.lines(), *map(str, findings(site, report.white))])
    advised = re.findall(r"[Ff]it a fuse of ([0-9.]+) A|a fuse of ([0-9.]+) A still", text)
    assert all(float(a or b) <= 5 for a, b in advised)
    assert "this takes" not in text
    assert "5 A is the largest fuse that the string's own wire, 18 AWG, allows" in text
    assert "a fuse of up to 5 A still protects x; beyond that, add a feed" in more_light(
        3, 5.0, "x"
    )
    assert more_light(5, 5.0, "x").endswith("5 A is the largest fuse that x, allows.")
    assert more_light(5, None, "x") == "For more light, add a feed or use thicker wire."


@pytest.mark.parametrize("command", [["power"], ["map"], ["sheets", "-o", "out"]])
def test_a_folder_is_as_good_as_its_house_file(started, lumenmap, command, monkeypatch):
    monkeypatch.chdir(started)
    assert lumenmap(command[0], started, *command[1:]).code == 0
    lumenmap(command[0], started / "nope", *command[1:]).fails(2, "no such file")
