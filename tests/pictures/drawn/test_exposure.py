"""Pictures are as bright as the light: one exposure for a house, and dusk in lux."""

import hashlib
from dataclasses import replace

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.pictures.drawn import preview
from lumenmap.pictures.drawn.exposure import exposure, full_white
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.drawn.transport import transport
from lumenmap.pictures.light import exposing
from lumenmap.pictures.scene.ambient import UNIT, twilight_lux
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.scene import SNOW
from lumenmap.power.limits.budgets import unlimited
from lumenmap.site import Site

#: Weights of luminance, IEC 61966-2-1.
WEIGHTS = np.array([0.2126, 0.7152, 0.0722])


@pytest.fixture(scope="module", autouse=True)
def _light_of_a_view_is_worked_out_once():
    """Several tests look from the same place; the exposure is worked out each time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(preview, "transport", lambda *asked, cache: transport(*asked, cache=True))
        yield


@pytest.fixture(scope="module", params=["alder-cottage", "marlow-bend"])
def site(request, examples):
    return Site.read(examples / request.param / "house.toml")


def shown_light(picture):
    """Undo sRGB (IEC 61966-2-1) and the tone curve: linear to 0.45, then 1 - 0.55 e^-((x-.45)/.55)."""
    code = np.asarray(picture, float) / 255
    tone = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    over = np.clip(1 - tone, 1e-9, 0.55)
    return np.where(tone < 0.45, tone, 0.45 - 0.55 * np.log(over / 0.55))


def test_luminance_in_the_picture_follows_the_light(site):
    """Five levels of light, within 5 % of their ratio, on what the lamps light."""
    view = Preview(site, width=480, height=270)
    white = full_white(site)
    dark = shown_light(view.still(0 * white))
    full = shown_light(view.still(white))
    added = (full - dark) @ WEIGHTS
    # What is lit well, and isn't so near to white that a code is a large step.
    chosen = (added > 0.1) & (full.max(-1) < 0.9)
    assert chosen.sum() > 500
    for level in (0.5, 0.3, 0.1, 0.05):
        seen = ((shown_light(view.still(level * white)) - dark) @ WEIGHTS)[chosen]
        assert seen.sum() / added[chosen].sum() == pytest.approx(level, rel=0.05)


def test_one_exposure_for_every_show_view_and_size(site):
    """And another picture of the same house is the same house in another frame."""
    sizes = [Preview(site, width=w, height=h, view=v) for w, h, v in VIEWS]
    assert len({view.exposure for view in sizes}) == 1
    snowy = Preview(site, width=160, height=90, look=Look(snow=True, street_lamp=True))
    assert snowy.exposure == sizes[0].exposure


VIEWS = [(160, 90, "street"), (120, 160, "front"), (320, 180, "from-left")]


def test_stops_double_the_light(site):
    plain, brighter = (Preview(site, width=160, height=90, look=Look(stops=s)) for s in (0, 1))
    assert brighter.exposure == pytest.approx(2 * plain.exposure)
    light = np.full((len(site.pixels), 3), 0.2, np.float32)
    a, b = (shown_light(v.still(light)) for v in (plain, brighter))
    dim = (a > 0.02) & (b < 0.4)
    assert b[dim].sum() / a[dim].sum() == pytest.approx(2, rel=0.03)


@pytest.mark.parametrize("stops", [-6.5, 7, float("nan"), float("inf")])
def test_stops_that_show_nothing(stops):
    with pytest.raises(InputError, match="exposure: is .* stops; expected -6 to 6"):
        Look(stops=stops)


def test_full_white_is_what_the_supply_can_give(examples):
    """A stronger supply gives more light, up to all of it."""
    site = Site.read(examples / "alder-cottage" / "house.toml")
    free = Site(site.house, site.pixels)
    free.__dict__["budgets"] = unlimited(site.pixels)
    weak, strong = full_white(site), full_white(free)
    assert (weak @ WEIGHTS).max() < 0.6 * (strong @ WEIGHTS).max()
    dusk = [Preview(s, width=160, height=90).exposure for s in (site, free)]
    assert dusk[1] < dusk[0]


def test_a_kept_exposure_is_that_of_this_house_and_its_budgets(site, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    folder = tmp_path / "lumenmap" / "exposures"
    free = Site(site.house, site.pixels)
    free.__dict__["budgets"] = unlimited(site.pixels)
    dark = Site(replace(site.house, faces=tuple(map(_darker, site.house.faces))), site.pixels)
    asked = [(s, time) for s in (site, free, dark) for time in ("dusk", "night")]
    plain = [exposure(s, time) for s, time in asked]
    assert not folder.exists()
    assert len(set(plain)) > 3
    assert [exposure(s, time, cache=True) for s, time in asked] == plain, "to the last bit"
    different = {(s is dark, full_white(s).tobytes(), time) for s, time in asked}
    assert len(list(folder.iterdir())) == len(different) >= 4
    monkeypatch.setattr(exposing, "exposing", None)  # not worked out a second time
    assert [exposure(s, time, cache=True) for s, time in asked] == plain


def _darker(face):
    return replace(face, colour=tuple(0.5 * c for c in face.colour))


def test_a_kept_exposure_that_is_no_number_is_made_again(site, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    first = exposure(site, "dusk", cache=True)
    (file,) = (tmp_path / "lumenmap" / "exposures").iterdir()
    for junk in (b"", b"junk", hashlib.sha256(b"junk").digest() + b"junk"):
        file.write_bytes(junk)
        assert exposure(site, "dusk", cache=True) == first
        assert len(file.read_bytes()) == 40


@pytest.mark.parametrize(
    ("height", "lux"),
    [(-0.833, 400), (-6, 3.4), (-12, 0.008)],
    ids=["sunset", "end of civil twilight", "end of nautical twilight"],
)
def test_twilight_against_a_handbook(height, lux):
    """Illuminances as handbooks round them, from memory (sunset varies most)."""
    assert twilight_lux(height) == pytest.approx(lux, rel=0.5 if lux == 400 else 0.03)


@pytest.mark.parametrize("height", [6, -19, float("nan")])
def test_a_sun_that_isnt_at_the_horizon(height):
    with pytest.raises(ValueError, match="expected -18 to 5"):
        twilight_lux(height)


@pytest.mark.parametrize(("time", "lux"), [("dusk", 1.09), ("night", 0.3)])
def test_snow_is_as_bright_as_its_lux(house, pixelmap, time, lux):
    """L = ρ E / π for a diffuse face, away from lamps and windows."""
    look = Look(time, snow=True, trees=False)
    view = Preview(Site(house, pixelmap), width=320, height=180, view="front", look=look)
    ground = view.parts.base.reshape(180, 320, 3)[150:175, 2:40] @ WEIGHTS
    found = np.pi * UNIT * ground.mean() / (np.array(SNOW) @ WEIGHTS)
    assert found == pytest.approx(lux, rel=0.1)
