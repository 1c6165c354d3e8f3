"""The independent renderers against each other: `tests.pictures.tracer` and Mitsuba."""

import numpy as np
import pytest
from scipy.ndimage import maximum_filter, minimum_filter
from scipy.spatial import cKDTree

pytest.importorskip("embreex", reason="no wheel of the ray engine for this system")
pytest.importorskip("mitsuba", reason="no wheel of the renderer for this system")

import mitsuba as mi

from lumenmap.pictures.scene.view import view_camera
from lumenmap.site import Site
from tests.pictures import tracer
from tests.pictures.renderer.parts import lamps, sensor, shone
from tests.pictures.renderer.whole import Both, centred, plain_shapes

#: Places nearer to a lamp than this aren't compared (m).
NEAR = 0.4


@pytest.fixture(scope="module")
def site(examples):
    return Site.read(examples / "juniper-flat" / "house.toml")


@pytest.fixture(scope="module")
def shapes(site):
    return plain_shapes(site)


def test_both_see_the_same_places(site, shapes):
    """A shifted lens: what Mitsuba sees in each pixel is in that pixel by lumenmap's camera."""
    camera = view_camera(site, None, 160, 90)
    scene = {f"shape {n}": shape for n, shape in enumerate(shapes)}
    whole = mi.load_dict({"type": "scene", "sensor": sensor(camera), **scene})
    method = mi.load_dict({"type": "aov", "aovs": "at:position"})
    at = np.array(mi.render(whole, integrator=method, spp=1)).reshape(-1, 3)
    y, x = np.divmod(np.arange(len(at)), camera.width)
    found, _ = camera.project(at.astype(float))
    met = np.abs(at).sum(1) > 0
    assert met.sum() > 5000
    assert np.abs(found - np.stack([x, y], -1) - 0.5)[met].max() < 0.51


def test_both_have_the_same_light(site, shapes, monkeypatch):
    """Straight from the lamps, and after one bounce and more; sums over walls, ground and roofs.

    Boards get all light here: Mitsuba has no rails that hide part of it.
    """
    monkeypatch.setattr(tracer, "PAST_RAIL", 1.0)
    camera = centred(site, 200, 112)
    light = np.ones((len(site.pixels), 3), np.float32)
    lit = lamps(site, light, 1.0)
    straight, most = (shone(shapes, camera, lit, n, 200).mean(-1) for n in (0, 3))
    world = tracer.World(site)
    y, x = np.divmod(np.arange(camera.width * camera.height), camera.width)
    rays = camera.rays(np.stack([x, y], -1) + 0.5)
    rays /= np.linalg.norm(rays, axis=1, keepdims=True)
    starts = np.broadcast_to(camera.position, rays.shape).copy()
    points, met = world.meet(starts, rays)
    kinds = np.full(len(rays), "sky", "<U8")
    kinds[met] = np.array(world.kind)[world.owner[points.triangle]]
    of = np.unique(kinds, return_inverse=True)[1].reshape(camera.height, camera.width)
    inner = (minimum_filter(of, 3) == maximum_filter(of, 3)).ravel()[met]
    # Next to a lamp the light differs within a pixel.
    inner &= cKDTree(world.lamps).query(points.xyz)[0] > NEAR
    rng = np.random.default_rng(1)
    for kind, count in (("wall", 900), ("ground", 900), ("roof", 300)):
        rows = rng.permutation(np.flatnonzero(inner & (kinds[met] == kind)))[:count]
        assert len(rows) == count
        paint = world.reflects(points[rows]).mean(1) / np.pi
        direct = (world.direct(points[rows]) @ light).mean(1) * paint
        assert straight.ravel()[met[rows]].sum() == pytest.approx(direct.sum(), rel=0.02)
        if kind != "roof":  # little gets there: neither knows how much
            around = world.around(points[rows], light, tracer.Sky(), rng, 32).mean(1) * paint
            bounced = (most - straight).ravel()[met[rows]].sum()
            assert bounced == pytest.approx(around.sum(), rel=0.15)


def test_whole_pictures_look_alike(site):
    """At dusk. ``python -m tests.pictures.renderer.whole`` has more houses, larger.

    With the sky's light unhindered, walls without lamps are 0.033 apart, under eaves above all.
    """
    both = Both(site, "dusk", 160, 48)
    for kind, dark, lit in (("wall", 0.02, 0.025), ("roof", 0.01, 0.01), ("ground", 0.02, 0.02)):
        rows = both.kind == kind
        assert rows.sum() > 200
        assert both.apart(rows, lamps=False) < dark
        assert both.apart(rows, lamps=True) < lit
