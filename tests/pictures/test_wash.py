"""Light on faces against the laws of photometry."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from lumenmap.core import parallel
from lumenmap.house.model import Edge, Face
from lumenmap.pictures.drawn.preview import FAINT, Preview
from lumenmap.pictures.drawn.transport import transport
from lumenmap.pictures.light import compute, exposing, wash
from lumenmap.pictures.light.mesh import LAMBERT, mesh
from lumenmap.pictures.light.wash import group_starts, wash_matrix
from lumenmap.pictures.scene.ambient import STRENGTH
from lumenmap.pictures.scene.fragments import fragments
from lumenmap.pictures.scene.lamp import Lamps, beam
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import apart, blocked, occluders
from lumenmap.pictures.scene.surface import flat
from lumenmap.pictures.scene.view import View, view_camera
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.site import Site


def one_lamp(house, place, facing):
    """A house of one plain wall, 6 by 4 m, with one pixel."""
    wall = Face(
        "wall", "plain", np.array([[0, 0, 0], [6, 0, 0], [6, 0, 4], [0, 0, 4.0]]), (0.5,) * 3
    )
    edge = Edge("lamp", "post", np.add([place, place], [[0, 0, 0], [0, 0, 0.1]]), np.array(facing))
    home = replace(house, faces=(wall,), edges={"lamp": edge})
    one = np.ones(1)
    span = LineSpan("a", 0, 1, 1, "RGB", 0.0)
    pixelmap = PixelMap(
        np.array([place], float),
        np.array([facing], float),
        0 * one,
        0 * one,
        one,
        np.zeros(1, np.int32),
        np.zeros(1, np.int32),
        one > 0,
        ("lamp",),
        (span,),
        house.kind,
        {},
    )
    return home, pixelmap


def test_the_transport_does_not_depend_on_the_number_of_processors(house, pixelmap, monkeypatch):
    site = Site(house, pixelmap)
    monkeypatch.setattr(wash, "AT_ONCE", 20_000)  # pieces enough for several threads
    found = []
    for count in (1, 2, 5):
        monkeypatch.setattr(parallel, "processors", lambda count=count: count)
        made = transport(site, view_camera(site, None, 160, 90), Look("night"))
        found.append([made.base, made.colours, made.wash.data, made.wash.indices, made.mix.data])
    for other in found[1:]:
        for one, two in zip(found[0], other, strict=True):
            np.testing.assert_array_equal(one, two)


def test_one_lamp_on_a_wall_follows_the_inverse_square_and_cosine_laws(house):
    """E = I(θ) cos φ / d² (IES Lighting Handbook, fundamentals), within 1 %, in the picture."""
    home, pixelmap = one_lamp(house, (3.0, -1.0, 2.0), (0.0, 1.0, 0.0))
    view = View((3.0, -5.0, 2.0), (3.0, 0.0, 2.0), 35)
    camera = view_camera(Site(home, pixelmap), view, 640, 400)
    parts = transport(Site(home, pixelmap), camera, Look("night", trees=False))
    falls = parts.wash.matrix().toarray()[:, :1]
    picture = (parts.mix.matrix() @ (falls * parts.colours)).reshape(400, 640, 3)[..., 0]
    lamp = np.array([3.0, -1.0 + 0.03, 2.0])  # domes stand 3 cm proud along their facing
    for x, z in ((3.0, 2.0), (3.5, 2.0), (4.0, 2.5), (2.0, 1.0), (4.6, 3.0)):
        column, row = camera.project(np.array([[x, 0.0, z]]))[0][0]
        element = (int(column), int(row))
        ray = camera.rays(np.array([element]) + 0.5)[0]
        point = camera.position + ray * (-camera.position[1] / ray[1])
        way = point - lamp
        distance = np.linalg.norm(way)
        cosine = way[1] / distance
        law = beam(np.float32(cosine)) * cosine / distance**2
        seen = picture[element[1], element[0]] / (STRENGTH * 0.5 * LAMBERT)
        assert seen == pytest.approx(law, rel=0.01)


def from_one(lamp, facing, points, normals):
    """The irradiance from one lamp."""
    one = Lamps(lamp, facing, np.ones(1, np.float32))
    return wash_matrix(points, normals, one, np.zeros(1, np.int64))[:, 0]


def test_irradiance_is_exact_away_from_the_mesh():
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 2, 0]], np.float32)
    up = np.tile(np.array([0, 0, 1], np.float32), (3, 1))
    lamp, down = np.array([[0, 0, 2]], np.float32), np.array([[0, 0, -1]], np.float32)
    got = from_one(lamp, down, points, up)
    for point, value in zip(points, got, strict=True):
        d = np.linalg.norm(lamp[0] - point)
        assert value == pytest.approx((0.25 + 0.75 * 2 / d) * (2 / d) / d**2, rel=1e-5)


def test_a_face_turned_away_gets_nothing():
    lamp = np.array([[0, 0, 2]], np.float32)
    down = np.array([[0, 0, -1]], np.float32)
    assert from_one(lamp, down, np.zeros((1, 3), np.float32), down)[0] == 0


def test_a_wall_throws_a_shadow():
    wall = flat("wall", [(0, 1, 0), (4, 1, 0), (4, 1, 3), (0, 1, 3)], (0.5,) * 3)
    lamp = np.array([[2, 0, 2.0]])
    spots = np.array([[2, 3, 1.0], [2, 0.5, 1], [2, 3, 6], [9, 3, 1]])
    assert blocked(spots, lamp, [wall])[:, 0].tolist() == [True, False, False, False]


def test_nodes_of_the_mesh_lie_on_their_faces(house, pixelmap):
    """Beyond its outline a node of the wall was in the roof's shadow: a dark rim under the eave."""
    site = Site(house, pixelmap)
    camera = view_camera(site, "front", 320, 180)
    surfaces = scene(house, Look("night", trees=False))
    seen = fragments(rasterise(surfaces, camera), camera, len(surfaces))
    made = mesh(surfaces, seen, np.ones(len(seen.pixel), np.float32), lamp_places(site)[0])
    (wall,) = [s for s in surfaces if s.name == "main/front"]
    outline = shapely.Polygon(wall.corners[:, [0, 2]])
    on = (np.abs(made.points[:, 1]) < 1e-4) & (made.normals[:, 1] < -0.99)
    off = shapely.distance(shapely.points(made.points[on][:, [0, 2]]), outline)
    assert on.sum() > 300
    assert off.max() < 0.01


def test_groups_keep_to_one_edge_and_stay_few():
    edges = np.repeat(np.arange(3, dtype=np.int32), [900, 40, 1000])
    starts = group_starts(edges)
    assert {0, 900, 940} <= set(starts.tolist())
    assert len(starts) <= 230


def test_light_keeps_out_of_the_house_next_door(house, pixelmap):
    """Lamps on the right eave leave the ground on the left dark: the house stands between."""
    camera = view_camera(Site(house, pixelmap), "front", 320, 180)
    parts = transport(Site(house, pixelmap), camera, Look("night", trees=False))
    right = np.flatnonzero(pixelmap.edge == 2)
    groups = np.isin(parts.starts, right)
    lit = (parts.mix.matrix() @ parts.wash.matrix()[:, groups].sum(1)).reshape(180, 320)
    left, far = camera.project(np.array([[-2.0, 4.0, 0.0], [10.0, 4.0, 0.0]]))[0].astype(int)
    assert lit[far[1], far[0]] > 50 * max(lit[left[1], left[0]], 1e-6)


def test_edges_of_shadows_are_those_of_single_lamps(examples, monkeypatch):
    """Stretches only save work: what each lamp by itself is hidden from stays dark."""
    site = Site.read(examples / "alder-cottage" / "house.toml")

    def made():
        return Preview(site, width=160, height=90).parts.wash.matrix().toarray()

    quick = made()
    monkeypatch.setattr(wash, "STRETCH", 1e-3)
    exact = made()
    off = np.abs(quick - exact).sum(1) / np.maximum(exact.sum(1), 1e-3)
    assert np.quantile(off, 0.99) < 0.025
    assert (off > 0.1).mean() < 0.004


def test_one_line_at_a_time_hides_as_all_do(cabin_walls):
    rng = np.random.default_rng(5)
    starts, stops = rng.uniform(-3, 11, (2, 300, 3))
    whole = blocked(starts, stops, cabin_walls)
    each = np.arange(300)
    own = apart(starts, stops, (each, each), cabin_walls)
    assert own.any() and not own.all()
    assert (own == np.diagonal(whole)).mean() > 0.99  # one rounds to 32 bits


@pytest.fixture
def cabin_walls(house):
    return occluders(scene(house, Look()))


def test_what_is_left_out_of_the_light_cant_be_seen():
    """All of it together, with all lamps lit, at the most exposure that a house gets."""
    rng = np.random.default_rng(2)
    falls = (rng.random((300, 120)) ** 12).astype(np.float32) * np.float32(1e-3)
    colours = rng.uniform(0.01, 0.3, (300, 3)).astype(np.float32)
    kept = compute._seen(falls, colours)
    kept.check(300)
    left = falls - kept.matrix().toarray()
    assert (left >= 0).all() and (left[kept.matrix().toarray() > 0] == 0).all()
    assert 0.2 < kept.nnz / falls.size < 0.8
    most = (left.sum(1) * colours.max(1)).max() * exposing.MOST["night"]
    assert 0 < most < FAINT
