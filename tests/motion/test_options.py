"""Options read in the units people write, and mistakes said in them."""

import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lumenmap.core.errors import InputError
from lumenmap.motion import options as o
from lumenmap.motion.reading import Reading
from lumenmap.show.effects.registry import effects

FEET = Reading("ft", beat=Fraction(1, 2))


@pytest.mark.parametrize(
    ("kind", "written", "si"),
    [
        (o.Length("x"), "12 ft 6 in", 3.81),
        (o.Length("x"), 2, 0.6096),
        (o.Length("x"), "50 cm", 0.5),
        (o.Speed("x"), "4 ft/s", 1.2192),
        (o.Speed("x"), 4, 1.2192),
        (o.Speed("x"), "8 ft/beat", 4.8768),
        (o.Speed("x"), "-30 m/min", -0.5),
        (o.Duration("x"), "250 ms", 0.25),
        (o.Duration("x"), "3 beats", 1.5),
        (o.Duration("x"), "1 beat", 0.5),
        (o.Duration("x"), 3, 3.0),
        (o.Rate("x"), "12 /min", 0.2),
        (o.Rate("x"), "0.5 Hz", 0.5),
        (o.Rate("x"), "1 /beat", 2.0),
        (o.Rate("x"), "3 / 2 beats", 3.0),
        (o.Rate("x"), 2, 2.0),
        (o.Share("x"), "30 %", 0.3),
        (o.Share("x"), 0.3, 0.3),
        (o.Angle("x"), 90, np.pi / 2),
        (o.Angle("x"), "0.5 turn", np.pi),
        (o.Count("x"), 3, 3),
        (o.Choice("x", names=("a", "b")), "b", "b"),
        (o.Way("x"), "up", "up"),
        (o.Way("x"), "from main/peak", "from main/peak"),
        (o.Corner("x"), "main/peak", "main/peak"),
    ],
)
def test_what_people_write_in_si(kind, written, si):
    got = kind.read(written, FEET)
    assert got == (si if isinstance(si, str) else pytest.approx(si))


@pytest.mark.parametrize(
    ("kind", "written", "message"),
    [
        (o.Length("x", low=o.IN, high=10 * o.FT), "20 ft", "is 20 ft; expected 1 in to 10 ft"),
        (o.Speed("x", low=0, high=o.FT), "-1 ft/s", "is -1 ft/s; expected 0 ft/s to 1 ft/s"),
        (o.Share("x"), 1.5, "is 1.5; expected 0 to 1"),
        (o.Share("x"), float("nan"), "expected a finite number"),
        (o.Share("x"), True, "is true; expected 0 to 1"),
        (o.Length("x"), ["1 ft"], r'is \["1 ft"\]; expected a length'),
        (o.Duration("x", low=1), "1 ms", "expected 1 s or more"),
        (o.Count("x", low=1, high=3), 2.5, "expected a whole number, 1 to 3"),
        (
            o.Choice("x", names=("cover", "contain")),
            "covr",
            'no choice "covr"; did you mean "cover"',
        ),
        (o.Way("x"), "acros", 'no way "acros"; did you mean "across"'),
        (o.Way("x"), 3, "is 3; expected line"),
        (o.Length("x"), "4 fet", 'no unit "fet"; did you mean "ft"'),
    ],
)
def test_mistakes_are_said_in_the_files_unit(kind, written, message):
    with pytest.raises(InputError, match=message):
        kind.read(written, FEET)


@pytest.mark.parametrize("kind", [o.Duration("x"), o.Speed("x"), o.Rate("x")])
def test_beats_need_a_tempo(kind):
    written = {"Duration": "2 beats", "Speed": "1 ft/beat", "Rate": "1 /beat"}[type(kind).__name__]
    with pytest.raises(InputError, match="the show has no tempo; write tempo = 120"):
        kind.read(written, Reading("ft"))


def test_a_picture_is_read_from_the_shows_folder_only(tmp_path):
    show = tmp_path / "show"
    show.mkdir()
    Image.new("RGB", (4, 2), "red").save(tmp_path / "outside.png")
    frames = [Image.new("P", (1400, 700), i) for i in (0, 1, 2)]
    frames[0].save(
        show / "move.gif", save_all=True, append_images=frames[1:], duration=[100, 200, 50]
    )
    (show / "text.png").write_text("no picture")
    kind, reading = o.Picture("x"), Reading(folder=show)
    raster = kind.read("move.gif", reading)
    assert raster.srgb.shape[1:] == (320, 640, 3)
    assert raster.ends[-1] == pytest.approx(0.35, abs=0.011)
    for written, message in (
        ("../outside.png", "outside the folder"),
        ("/etc/passwd", "outside the folder"),
        ("none.png", 'no picture "none.png"'),
        ("text.png", "isn.t a readable picture"),
        (3, "expected a picture file"),
    ):
        with pytest.raises(InputError, match=message):
            kind.read(written, reading)
    with pytest.raises(InputError, match="no folder to read pictures from"):
        kind.read("move.gif", Reading())


def test_a_pictures_transparent_parts_are_dark(tmp_path):
    Image.new("RGBA", (3, 3), (255, 255, 255, 0)).save(tmp_path / "clear.png")
    assert o.Picture("x").read("clear.png", Reading(folder=Path(tmp_path))).srgb.max() == 0


@pytest.mark.parametrize(
    ("metres", "unit", "said"),
    [
        (0.3, "ft", "30 cm"),
        (5.0, "ft", "5 m"),
        (14 * 0.0254, "ft", "14 in"),
        (6 * 0.3048, "ft", "6 ft"),
        (0.3, "m", "0.3 m"),
        (0.0, "ft", "0 ft"),
        (1 / 3, "ft", "1.094 ft"),
        (4 * 0.3048, "m", "4 ft"),
        (6 * 0.0254, "m", "6 in"),
        (1.219, "m", "1.219 m"),
        (10.0, "mm", "10000 mm"),
    ],
)
def test_lengths_are_told_in_the_unit_in_which_they_are_round(metres, unit, said):
    kind = o.Length("a length", low=-10, high=10)
    assert kind.text(metres, unit) == said
    assert kind.read(said, Reading(unit)) == pytest.approx(metres, rel=1e-3)


@pytest.mark.parametrize(
    ("metres", "unit", "said"),
    [
        (4 * o.FT, "m", "1.2 m"),
        (13 * o.FT, "m", "4 m"),
        (7 * o.IN, "m", "0.18 m"),
        (-90 * o.FT, "m", "-27 m"),
        (1.25, "m", "1.25 m"),
        (4 * o.FT, "cm", "120 cm"),
        (4 * o.FT, "ft", "4 ft"),
        (1.25 * o.FT, "ft", "1.25 ft"),
        (1.0, "ft", "3.3 ft"),
        (0.1, "ft", "3.9 in"),
        (0.0, "m", "0 m"),
    ],
)
def test_a_default_is_told_round_in_the_houses_unit(metres, unit, said):
    kind = o.Length("a length")
    assert kind.text(kind.about(metres, unit), unit) == said


@pytest.mark.parametrize("unit", ["m", "cm", "mm", "ft", "in"])
def test_what_is_told_of_an_effect_can_be_written_and_lights_as_well(unit):
    """Round ends lie within the true ones; a round default is within 5 % of it."""
    for effect in effects(()).values():
        for spec in effect.options.values():
            kind, reading = spec.kind, Reading(unit)
            if not isinstance(kind, (o.Length, o.Speed)):
                continue
            for end in filter(math.isfinite, kind.ends(unit)):
                kind.read(kind.text(end, unit), reading)
            if spec.default is not None:
                assert kind.read(spec.usual(unit), reading) == pytest.approx(spec.default, rel=0.05)
                digits = spec.usual(unit).split()[0].replace(".", "").strip("-0")
                assert len(digits) <= 3
