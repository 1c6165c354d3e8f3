"""Prices in the house file, and what they stand for."""

import math
import re

import pytest

from lumenmap.core.errors import InputError
from lumenmap.sheets.buying import _price
from lumenmap.sheets.items import Item
from lumenmap.sheets.rails.rails import rails
from lumenmap.sheets.write import write_sheets
from tests.sheets.folder import rows, told
from tests.small_house import HOUSE


def test_the_bill_multiplies(written):
    pixel_map, folder, _ = written
    for r in rows(folder, "what-to-buy"):
        number = [float(re.match(r"[\d.]+", r[c] or "0")[0]) for c in ("needed", "spare", "buy")]
        assert number[0] + number[1] == pytest.approx(number[2])
        if r["cost"]:
            money = [float(re.sub(r"[^\d.]", "", r[c])) for c in ("price each", "cost")]
            assert money[1] == pytest.approx(money[0] * number[2], abs=0.005)
    size = pixel_map.site.house.string.pixels
    name = f"string of {size} pixels" if size else "pixels"
    pixels = next(r for r in rows(folder, "what-to-buy") if r["item"].startswith(name))
    spans = pixel_map.site.pixels.lines
    assert int(pixels["needed"]) == sum(math.ceil(s.count / (size or 1)) for s in spans)


@pytest.mark.parametrize(("currency", "sum_"), [("$", "$6.80"), ("CHF", "CHF 6.80"), ("", "6.80")])
def test_costs_carry_the_currency(tmp_path, currency, sum_):
    file = tmp_path / "house.toml"
    file.write_text(HOUSE + f'\n[buying]\ncurrency = "{currency}"\nprices = {{ rail = 6.8 }}\n')
    write_sheets(file, tmp_path / "out")
    rail = rows(tmp_path / "out", "what-to-buy")[0]
    assert rail["price each"] == sum_
    total = sum_.replace("6.80", f"{6.8 * int(rail['buy']):.2f}")
    assert rail["cost"] == total
    assert (
        f"Total of the items with a price: {total}."
        in (tmp_path / "out" / "sheets.html").read_text()
    )


def test_clips_follow_the_rule_that_is_stated(written):
    """One at either end, and none further apart than 30 in or 0.75 m: 10 ft take five."""
    pixel_map, folder, _ = written
    feet = pixel_map.site.house.unit == "ft"
    step, name = (30 * 0.0254, "2 ft 6 in") if feet else (0.75, "0.75 m")
    clips = next(r for r in rows(folder, "what-to-buy") if r["item"].startswith("rail clips"))
    assert clips["item"] == f"rail clips, at most {name} apart"
    lengths = [r.pattern.length for r in rails(pixel_map.site.line_layouts)]
    fewest = sum(math.ceil(max(float(n) - 0.15, 0.1) / step) + 1 for n in lengths)
    assert fewest <= int(clips["needed"]) <= fewest + len(lengths)
    assert f"at most {name} between them" in told(folder)


def test_no_coupling_goes_round_a_corner(tmp_path):
    """By hand: of rails of 6 ft, one at each side of a window of 3 x 5 ft; two on a rake of 8 ft.

    Two ends meet at each of the window's corners: eight caps, and two on the rake, which has the only
    joint in line. The bill had three couplings more, one for each corner on the way.
    """
    text = HOUSE.replace('length = "8 ft"', 'length = "6 ft"').replace(
        "overhang = 1",
        "window = [{ at = 12, width = 3, height = 5, sill = 2 }]\noverhang = 1",
    )
    rakes = '"main/rake-left", "main/rake-right"'
    ways = '"main/window 1", { jumper = 40 }, { edge = "main/rake-left", stop = "8 ft" }'
    (tmp_path / "house.toml").write_text(text.replace(rakes, ways))
    write_sheets(tmp_path / "house.toml", tmp_path / "out")
    bought = {row["item"]: row["needed"] for row in rows(tmp_path / "out", "what-to-buy")}
    (joints,) = [count for item, count in bought.items() if "coupling" in item]
    (caps,) = [count for item, count in bought.items() if item.startswith("end cap")]
    assert (joints, caps) == ("1", "10")


def test_a_price_of_nothing_names_the_nearest(tmp_path):
    file = tmp_path / "house.toml"
    file.write_text(HOUSE + "\n[buying]\nprices = { rial = 3 }\n")
    with pytest.raises(
        InputError, match=r'buying\.prices\.rial: no item "rial"; did you mean "rail"'
    ):
        write_sheets(file, tmp_path / "out")
    assert not (tmp_path / "out").exists() or not list((tmp_path / "out").iterdir())


def test_wire_without_a_length_is_on_the_bill_and_not_0_ft_long(tmp_path):
    """It was left out of the bill, and 0 in long on labels, map and diagram."""
    file = tmp_path / "house.toml"
    second = (
        '[[feed]]\nsupply = "garage"\nto = "front"\nat = "end"\nlength = "7 ft 6 in"\nfuse = 5\n'
    )
    file.write_text(f"{HOUSE}\n{second}")
    write_sheets(file, tmp_path / "out")
    (pair,) = [r for r in rows(tmp_path / "out", "what-to-buy") if r["item"].startswith("pair")]
    assert pair["item"] == "pair of 16 AWG stranded, without F1: no length given"
    assert pair["buy"] == "8 ft"
    page = (tmp_path / "out" / "sheets.html").read_text("utf-8")
    assert "16 AWG stranded, length not given" in page
    assert "16 AWG stranded, 0" not in page and "16 AWG stranded, 7 ft 6 in" in page


@pytest.mark.parametrize("given", ["12 AWG", "12 AWG stranded"])
def test_a_gauge_stands_for_its_stranded_wire_too(given):
    for name in ("12 AWG", "12 AWG stranded"):
        assert _price(Item("pair", 3, "ft", 0, name), {given: 1.35}) == 1.35
    assert _price(Item("pair", 3, "ft", 0, "14 AWG stranded"), {given: 1.35}) is None
