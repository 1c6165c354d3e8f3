"""The pixel map: its rows, its picture, and the command that prints it."""

import csv
import io
import json
from xml.etree import ElementTree

import pytest
from PIL import Image

from lumenmap.core.errors import InputError
from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.sheets.plans.mapping import Mapping, mapping
from tests.sheets.folder import rows

SVG = "{http://www.w3.org/2000/svg}"


def test_the_map_comes_out_in_rows_that_read_back(written):
    pixel_map, folder, _ = written
    got = rows(folder, "map")
    unit = pixel_map.site.house.unit
    per = {"ft": 0.3048, "m": 1.0}[unit]
    assert len(got) == len(pixel_map.site.pixels)
    for k in (0, len(got) // 2, len(got) - 1):
        xyz = [float(got[k][f"{a}_{unit}"]) * per for a in "xyz"]
        assert xyz == pytest.approx(pixel_map.site.pixels.xyz[k], abs=1e-6)
    whole = json.loads(pixel_map.json())
    assert len(whole["map"]) == whole["pixels"] == len(got)
    assert next(r["first"] for r in whole["runs"]) == 1


def test_the_picture_tells_numbers_ends_and_feeds(written, tmp_path):
    pixel_map, _, _ = written
    pixel_map.draw(tmp_path / "a.svg")
    root = ElementTree.parse(tmp_path / "a.svg").getroot()
    words = [t.text for t in root.iter(f"{SVG}text")]
    for span in pixel_map.site.pixels.lines:
        assert f"{span.name} start" in words and f"{span.name} end" in words
        assert any(w.startswith(f"{span.name}: {span.count}") for w in words)
    for i, feed in enumerate(pixel_map.site.house.feeds, 1):
        assert words.count(f"F{i}") >= 2, feed.name  # in the key, and where it joins
    dots = sum(1 for _ in root.iter(f"{SVG}circle"))
    assert dots >= (pixel_map.site.pixels.edge >= 0).sum()
    assert {"Front", "Plan, street at the bottom"} <= set(words)
    pixel_map.draw(tmp_path / "a.png")
    with Image.open(tmp_path / "a.png") as image:
        assert image.size == (2480, 1754)
        assert image.convert("L").getextrema() == pytest.approx((20, 255), abs=20)
    pixel_map.draw(tmp_path / "a.pdf")
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF-")


def test_a_picture_of_another_kind_is_refused(written, tmp_path):
    with pytest.raises(
        InputError, match=r"a\.jpg: expected a file name ending in \.svg, \.png or \.pdf"
    ):
        written[0].draw(tmp_path / "a.jpg")


def test_the_command_prints_table_rows_and_json(examples, lumenmap, tmp_path):
    house = examples / "marlow-bend" / "house.toml"
    done = lumenmap("map", house)
    assert done.code == 0 and "wing/hip-front-right" in done.out and "NOTE: edge" in done.out
    assert "637 pixels on 4 lines, 3 of them dark" in done.out
    table = list(csv.DictReader(io.StringIO(lumenmap("map", house, "--csv").out)))
    assert len(table) == 637 and table[0]["number"] == "1"
    assert json.loads(lumenmap("map", house, "--json").out)["pixels"] == 637
    assert lumenmap("map", house, "-p", tmp_path / "m.svg").code == 0
    lumenmap("map", house, "-p", tmp_path / "no" / "m.svg").fails(2, "can't be written")
    lumenmap("map", tmp_path / "none.toml").fails(2, "no such file")
    done = lumenmap("sheets", house, "-o", tmp_path / "s", "--json")
    assert done.code == 0 and json.loads(done.out)["rails"] == 18
    assert (tmp_path / "s" / "sheets.pdf").exists()


def test_a_mapping_is_made_of_the_same_map_as_anyone_s(examples):
    pixel_map = mapping(examples / "kelder-studio" / "house.toml")
    assert isinstance(pixel_map, Mapping)
    assert (
        pixel_map.site.pixels.xyz
        == map_pixels(load_house(examples / "kelder-studio" / "house.toml")).xyz
    ).all()
