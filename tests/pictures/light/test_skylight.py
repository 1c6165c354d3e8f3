"""How much of the sky gets to a face, against closed forms and the independent renderer's rays."""

import numpy as np
import pytest

from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.light import skylight
from lumenmap.pictures.light.skylight import STEP, Spread, is_narrow, sky_part
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import occluders
from lumenmap.pictures.scene.surface import flat
from lumenmap.site import Site


@pytest.mark.parametrize("tilt", [0, 20, 45, 70, 90, 120])
def test_a_free_face_gets_what_its_slope_leaves_of_the_sky(tilt):
    """(1 + cos β) / 2 of an even sky: Liu and Jordan, 1963 (from memory)."""
    b = np.radians(tilt)
    for turn in np.linspace(0, 2 * np.pi, 7):
        normal = np.array([np.sin(b) * np.cos(turn), np.sin(b) * np.sin(turn), np.cos(b)])
        found = sky_part(np.zeros((1, 3)), normal[None], ())
        assert found[0] == pytest.approx((1 + np.cos(b)) / 2, abs=0.02)


@pytest.mark.parametrize("below", [0.2, 0.5, 1.0, 2.5])
def test_an_eave_takes_the_upper_sky_from_a_wall(below):
    """Half the sine of the height at which a long eave's edge stands.

    The integral of cos θ over the strip that is left: 1/2 sin φ.
    """
    deep = 0.6
    eave = flat("soffit", [(-80, 0, 3), (80, 0, 3), (80, -deep, 3), (-80, -deep, 3)], (1,) * 3, "e")
    x = np.linspace(-2, 2, 9)
    points = np.stack([x, np.zeros(9), np.full(9, 3 - below)], -1)
    found = sky_part(points, np.tile([0.0, -1, 0], (9, 1)), [eave])
    assert found.mean() == pytest.approx(np.sin(np.arctan2(below, deep)) / 2, abs=0.035)


def test_walls_get_as_much_as_rays_of_the_independent_renderer(examples):
    pytest.importorskip("embreex", reason="no wheel of the ray engine for this system")
    from tests.pictures.tracer import OFF, World, _cosine

    site = Site.read(examples / "juniper-flat" / "house.toml")
    world, rng = World(site), np.random.default_rng(3)
    walls = [f for f in site.house.faces if f.kind == "wall"]
    shades = occluders(scene(site.house, Look(trees=False)))
    for wall in (w for w in walls if "front" in w.name):
        normal = np.cross(wall.corners[1] - wall.corners[0], wall.corners[2] - wall.corners[0])
        normal /= np.linalg.norm(normal)
        parts = rng.dirichlet(np.ones(len(wall.corners)), 40)
        points, normals = parts @ wall.corners, np.tile(normal, (40, 1))
        found = sky_part(points, normals, shades)
        ways = _cosine(np.repeat(normals, 800, axis=0), rng)
        _, far = world.first(np.repeat(points + OFF * normals, 800, axis=0), ways)
        free = (np.isinf(far) & (ways[:, 2] > 0)).reshape(40, 800).mean(1)
        out = free > 0.02  # the others are inside of another mass
        assert out.sum() >= 10
        assert np.median(np.abs(found - free)[out]) < 0.03
        assert found[out].mean() == pytest.approx(free[out].mean(), abs=0.03)


def test_between_the_grid_a_slope_stays_one():
    """Far from the rims, where the mean of few pulls a little."""
    width = 400
    y, x = np.mgrid[40:140, 60:260]
    pixels = (y * width + x).ravel().astype(np.int32)
    spread = Spread.over(pixels, width)
    assert len(spread.chosen) == pytest.approx(len(pixels) * (1 / (STEP * width)) ** 2, rel=0.2)
    slope = (0.2 + 0.001 * (y - 40) + 0.002 * (x - 60)).ravel()
    found = spread.between(slope[spread.chosen])
    inner = ((y > 60) & (y < 120) & (x > 80) & (x < 240)).ravel()
    assert np.abs(found - slope)[inner].max() < 0.01
    assert np.abs(found - slope).max() < 0.03


def test_strips_are_narrow_and_walls_are_not():
    board = flat("fascia", [(0, 0, 0), (6, 0, 0), (6, 0, 0.15), (0, 0, 0.15)], (1,) * 3, "b")
    wall = flat("wall", [(0, 0, 0), (6, 0, 0), (6, 0, 2.5), (0, 0, 2.5)], (1,) * 3, "w")
    assert is_narrow(board)
    assert not is_narrow(wall)


def test_a_wall_is_darker_under_a_porch_at_dusk(examples, monkeypatch):
    """In the picture without lamps, against one in which nothing stands before the sky."""
    site = Site.read(examples / "fern-lane" / "house.toml")
    look = Look("dusk", trees=False)
    preview = Preview(site, width=320, height=180, look=look)
    monkeypatch.setattr(skylight, "sky_part", lambda points, normals, _: (1 + normals[:, 2]) / 2)
    free = Preview(site, width=320, height=180, look=look)
    ratio = (preview.parts.base / free.parts.base).reshape(180, 320, 3).mean(-1)
    under, above = ((6.5, -0.05, z) for z in (1.8, 4.9))
    (x, y), (_, high) = (
        preview.camera.project(np.array(at))[0].astype(int) for at in (under, above)
    )
    assert ratio[y, x] < 0.6
    assert ratio[high, x] > 0.9
    assert ratio[20, 20] == 1  # the sky
