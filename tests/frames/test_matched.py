"""Shows are mixed for the house's own dies unless they ask for the dies' own colours."""

import numpy as np
import pytest

from lumenmap.colour.cie1931 import xy
from lumenmap.frames.render import render_block
from tests.frames.shows import one

#: x and y of D65 (CIE 15).
D65 = (0.3127, 0.3290)


def first(work):
    return render_block(work.plan, 0, 1)[0, 0].astype(float)


def test_white_is_daylight_without_asking(lay):
    work = lay(one("still", 1))
    assert xy(work.site.dies.seen(first(work))) == pytest.approx(D65, abs=1e-3)
    plain = lay(one("still", 1).replace("fps = 40", "fps = 40\nmatch_screen = false"))
    assert np.abs(xy(plain.site.dies.seen(first(plain))) - D65).max() > 0.05


def test_a_white_layer_multiplies_by_one(lay):
    """Layers are composed with white at 1, 1, 1: a white mask leaves a colour as it is."""
    show = one("still", 1).replace('["white"]', '["#ff8000"]')
    white = '[[cue.layer]]\neffect = "still"\npalette = "mask"\nblend = "multiply"\n'
    white += '[palette.mask]\nstops = ["white"]\n'
    assert first(lay(f"{show}\n{white}")) == pytest.approx(first(lay(show)), abs=1e-6)


def test_a_picture_has_its_colours_too(lay, tmp_path):
    from PIL import Image

    Image.new("RGB", (8, 8), "#ff8000").save(tmp_path / "orange.png")
    painted = first(lay(one("picture", 1, file='"orange.png"')))
    chosen = first(lay(one("still", 1).replace('["white"]', '["#ff8000"]')))
    assert painted == pytest.approx(chosen, abs=0.01)


def test_a_colour_beyond_the_dies_is_said(lay):
    work = lay(one("still", 1).replace('["white"]', '["color(rec2020 0 1 0)", "gold"]'))
    (said,) = work.plan.notes
    assert 'palette "one": color(rec2020 0 1 0) is beyond what these pixels can make' in said
    assert "gold" not in said
    assert not lay(one("still", 1)).plan.notes


def test_dies_that_have_no_white_are_said(lay, tmp_path):
    lay(one("still", 1))
    house = tmp_path / "house.toml"
    kind = 'kind = "ws2811-12v"'
    house.write_text(house.read_text().replace(kind, f"{kind}\ndominant_nm = [640, 600, 585]"))
    from lumenmap.jobs.project import load

    work = load(tmp_path / "show.toml")
    assert work.plan.balance is None
    assert "can't make a screen's white" in " ".join(work.plan.notes)
