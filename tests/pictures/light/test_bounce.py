"""Light from face to face, in rooms where it has a closed form."""

import numpy as np
import pytest

from lumenmap.pictures.inner import SparseRows
from lumenmap.pictures.light import bounce
from lumenmap.pictures.light.bounce import bounced, falling
from lumenmap.pictures.light.cells import lines
from lumenmap.pictures.light.exchange import exchange, web
from lumenmap.pictures.light.mesh import Mesh
from lumenmap.pictures.light.nets import nearest, nets
from lumenmap.pictures.scene.lamp import Lamps
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import apart, blocked, occluders
from lumenmap.pictures.scene.surface import Surface, flat

#: Reflectances of the room's faces.
RHO = np.array([0.7, 0.4, 0.2])


def room(size=(3.0, 2.0, 2.5), colour=RHO):
    """The six inner faces of a closed box."""
    low, high = np.zeros(3), np.array(size)
    made = []
    for axis in range(3):
        for at, way in ((low, 1), (high, -1)):
            u, v = (k for k in range(3) if k != axis)
            corners = np.tile(at, (4, 1))
            corners[:, u] = [low[u], high[u], high[u], low[u]]
            corners[:, v] = [low[v], low[v], high[v], high[v]]
            face = flat("wall", corners, tuple(colour))
            normal = way * np.eye(3)[axis]
            if face.normal @ normal < 0:
                corners = corners[::-1]
            made.append(Surface("wall", corners, normal, tuple(colour)))
    return made


@pytest.fixture
def inside(monkeypatch):
    """Bounced light on points of a room whose faces all get 1 from the lamps."""

    def found(faces):
        monkeypatch.setattr(
            bounce, "wash_matrix", lambda points, *_: np.ones((len(points), 1), np.float32)
        )
        lamps = Lamps(*np.array([[[1.5, 1.0, 1.2]], [[0, 0, 1.0]], [[1.0] * 3]], np.float32))
        rng = np.random.default_rng(4)
        points = np.concatenate([f.corners[0] * 0 + _spread(f, rng) for f in faces])
        normals = np.repeat([f.normal for f in faces], 50, axis=0)
        nodes = Mesh(
            SparseRows.gathered(*np.zeros((2, 0), int), np.zeros(0, np.float32), (1, len(points))),
            points.astype(np.float32),
            normals.astype(np.float32),
            np.zeros_like(points, np.float32),
            np.zeros(len(points), bool),
        )
        return bounced(falling(faces, lamps, np.array([0]), faces), nodes)

    return found


def _spread(face, rng):
    u, v = rng.random((2, 50, 1))
    a, b, _, d = face.corners
    return a + u * (b - a) + v * (d - a)


def test_a_closed_room_with_even_light_is_evenly_lit(inside, monkeypatch):
    """The furnace: what comes back of E is E ρ / (1 - ρ), whatever the shape of the room.

    After three bounces it is E (ρ + ρ² + ρ³): F of all that surrounds a face is 1 (Cohen and
    Wallace [M]).
    """
    some = inside(room())
    per_colour = RHO + RHO**2 + RHO**3
    assert some.wash[:, 0] == pytest.approx(per_colour.mean(), rel=0.03)
    assert some.tint == pytest.approx(
        np.broadcast_to(per_colour / per_colour.mean(), some.tint.shape), rel=0.01
    )
    monkeypatch.setattr(bounce, "BOUNCES", 40)
    full = RHO / (1 - RHO)
    assert inside(room()).wash[:, 0] == pytest.approx(full.mean(), rel=0.04)


def test_what_stands_between_keeps_light_off():
    """A board across the room: the two halves don't see each other's cells."""
    faces = room()
    board = flat("wall", [(1.5, 0, 0), (1.5, 2, 0), (1.5, 2, 2.5), (1.5, 0, 2.5)], (0, 0, 0))
    made = nets(faces, np.array([[1.5, 1.0, 1.2]], np.float32))
    whole, held = web(made), np.concatenate([net.held for net in made])
    gives = np.ones(len(whole.middles), np.float32)
    open_, shut = (exchange(whole, held, gives, shades).matrix() for shades in ([], [board]))
    left, right = whole.knots[:, 0] < 1.4, whole.middles[:, 0] > 1.6
    assert open_[left][:, right].sum() > 10
    assert shut[left][:, right].sum() == 0
    assert shut[left][:, ~right].sum() == pytest.approx(open_[left][:, ~right].sum(), rel=0.01)


def test_pairs_are_hidden_as_single_lines_are(house):
    rng = np.random.default_rng(6)
    shades = occluders(scene(house, Look()))
    starts, stops = rng.uniform(-3, 11, (2, 40, 3))
    pairs = tuple(rng.integers(0, 40, (2, 500)))
    found = apart(starts, stops, pairs, shades)
    assert found.any() and not found.all()
    first = np.zeros(1, int)
    lines = np.transpose(pairs)
    alone = [apart(starts[[a]], stops[[b]], (first, first), shades)[0] for a, b in lines]
    assert (found == alone).all()
    assert (found == blocked(starts, stops, shades)[pairs]).mean() > 0.99  # rounds to 32 bits


def test_knots_and_cells_lie_on_their_faces(house, pixelmap):
    """The wall under the roof's slope too, and the ground only outside of the house."""
    surfaces = scene(house, Look(trees=False))
    made = nets(surfaces, pixelmap.xyz.astype(np.float32))
    assert {net.surface.kind for net in made} >= {"wall", "roof", "ground"}
    for net in made:
        area = np.linalg.norm(
            np.cross(net.corners[:, 1] - net.corners[:, 0], net.corners[:, 3] - net.corners[:, 0]),
            axis=1,
        ).sum()
        for points in (net.knots[net.held], net.middles):
            assert np.abs(net.away(points)).max() < 1e-9
        knots, shares = net.shares(net.middles)
        assert (shares[~net.held[knots]] == 0).all() and shares.sum(0) == pytest.approx(1)
        if net.surface.name == "ground":
            x, y, _ = net.middles.T
            assert not ((x > 0.1) & (x < 7.9) & (y > 0.1) & (y < 5.9)).any()
            assert not net.held.all()
        else:
            after = np.roll(net.surface.corners, -1, axis=0)
            true = np.linalg.norm(np.cross(net.surface.corners, after).sum(0)) / 2
            assert area == pytest.approx(true, rel=0.15)


def test_light_of_knots_is_passed_on_evenly(house, pixelmap):
    """What is a linear function of the place at the knots is so in between."""
    surfaces = scene(house, Look(trees=False))
    (wall,) = [
        net
        for net in nets(surfaces, pixelmap.xyz.astype(np.float32))
        if net.surface.name == "main/front"
    ]
    points = wall.middles[np.linalg.norm(wall.middles - wall.middles.mean(0), axis=1) < 1.5]
    knots, shares = wall.shares(points)
    assert shares.sum(0) == pytest.approx(1)
    light = 3 + wall.knots @ (0.3, 0.0, -0.2)
    found = (shares * light[knots]).sum(0)
    assert found == pytest.approx(3 + points @ (0.3, 0.0, -0.2), abs=0.05)
    outwards = np.broadcast_to(wall.surface.normal, points.shape)
    assert (nearest([wall], points + 0.1 * outwards, outwards) == 0).all()
    assert (nearest([wall], points, -outwards) == -1).all()
    assert (nearest([wall], points + outwards, outwards) == -1).all()


def test_a_door_throws_back_the_doors_colour():
    """Half of a wall behind a door, in the room's other half a path, which isn't on the wall."""
    wall = room()[2]
    assert wall.normal.tolist() == [0, 1, 0]
    door = flat("door", [(1.5, 0.02, 0), (0, 0.02, 0), (0, 0.02, 2.5), (1.5, 0.02, 2.5)], (0, 0, 1))
    path = flat("path", [(1.5, 0, 0.01), (3, 0, 0.01), (3, 2, 0.01), (1.5, 2, 0.01)], (1, 0, 0))
    (net,) = nets([wall], np.array([[1.5, 1.0, 1.2]], np.float32))
    found = bounce._colours(net, [wall, door, path])
    behind = net.corners[:, :, 0].max(1) <= 1.5
    assert behind.any() and not behind.all()
    assert (found[behind] == (0, 0, 1)).all()
    clear = net.corners[:, :, 0].min(1) >= 1.5
    assert found[clear] == pytest.approx(np.broadcast_to(RHO, found[clear].shape))


@pytest.mark.parametrize("length", [0.1, 0.5, 1.0, 2.0, 7.3, 30.0])
def test_lines_are_close_at_the_ends(length):
    made = lines(np.array([0.0, length]), 0.4, 1.6)
    widths = np.diff(made)
    assert made[0] == 0 and made[-1] == pytest.approx(length)
    assert widths.min() > 0 and widths.max() <= 1.6 + 1e-9
    assert widths == pytest.approx(widths[::-1])
    if length > 2:
        assert widths[0] == pytest.approx(0.4)


def test_a_house_without_lamps_or_faces_throws_no_light(house, pixelmap):
    surfaces = scene(house, Look(trees=False))
    assert nets(surfaces, np.zeros((0, 3), np.float32)) == []
    only_ground = [s for s in surfaces if s.name == "ground"]
    assert nets(only_ground, lamp_places_of(house, pixelmap)) == []


def lamp_places_of(house, pixelmap):
    from lumenmap.site import Site

    return lamp_places(Site(house, pixelmap))[0].astype(np.float32)
