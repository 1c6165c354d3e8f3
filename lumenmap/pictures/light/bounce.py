"""Light that faces throw on each other, as far as diffuse faces do: the radiosity of the house.

Strategy: faces are cut into cells (`nets`). Each gives off what falls on it, times its reflectance:
from the lamps, and from other cells (`exchange`). B = ρ (E + F B) is solved by letting light go
from face to face (Goral et al. 1984; Cohen and Wallace, "Radiosity and Realistic Image Synthesis"
[M]). What falls on the knots of each net is then smoothly passed on to the nodes of the mesh.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import SparseRows, product
from lumenmap.pictures.light.exchange import exchange, web
from lumenmap.pictures.light.mesh import Mesh
from lumenmap.pictures.light.nets import Net, nearest, nets
from lumenmap.pictures.light.wash import PAST_RAIL, wash_matrix
from lumenmap.pictures.scene.lamp import Lamps
from lumenmap.pictures.scene.shadow import inside
from lumenmap.pictures.scene.surface import Surface

F32 = NDArray[np.float32]
Ints = NDArray[np.int64]

#: How often light is thrown from face to face.
BOUNCES = 3
#: What lies on a face, this near to it (m), and has another colour.
ON, LIES = 0.2, ("glass", "door", "path", "street")


class Bounced(NamedTuple):
    """Light from other faces at P nodes.

    Attributes
    ----------
    wash
        (P, G) irradiance from each group of lamps when all of them shine at 1 in white: the mean
        of red, green and blue.
    tint
        (P, 3) the colour of that light with all lamps lit; its mean is 1.
    """

    wash: F32
    tint: F32


class Falls(NamedTuple):
    """What falls on the knots of nets, V in all, from groups of lamps by way of other faces.

    Attributes
    ----------
    nets
        The faces' nets.
    red, green, blue
        (V, G) irradiance from each group when all of its lamps shine at 1 in one colour.
    """

    nets: list[Net]
    red: F32
    green: F32
    blue: F32


def falling(
    surfaces: Sequence[Surface], lamps: Lamps, starts: Ints, shades: Sequence[Surface]
) -> Falls:
    """Return what faces throw on each other; it is the same wherever a picture is taken from."""
    made = nets(surfaces, lamps.xyz)
    if not made:
        none = np.zeros((0, len(starts)), np.float32)
        return Falls(made, none, none, none)
    whole = web(made)
    direct = wash_matrix(whole.middles, whole.cell_normals, lamps, starts, shades)
    direct *= np.concatenate([np.full(len(net.middles), _past(net)) for net in made])[:, None]
    reflects = np.concatenate([_colours(net, surfaces) for net in made])
    held = np.concatenate([net.held for net in made])
    form = exchange(whole, held, direct.sum(1) * reflects.mean(1), shades)
    own = np.repeat(np.arange(len(made)), np.diff(whole.cell_starts))
    between = _from_knots(made, whole.middles, own)
    red, green, blue = (_falling(direct, reflects[:, k, None], form, between) for k in range(3))
    return Falls(made, red, green, blue)


def bounced(falls: Falls, nodes: Mesh) -> Bounced:
    """Return what falls on the nodes of a mesh from other faces than their own."""
    made, *colours = falls
    if not made:
        none = np.zeros((len(nodes.points), falls.red.shape[1]), np.float32)
        return Bounced(none, np.ones((len(nodes.points), 3), np.float32))
    passed = _from_knots(made, nodes.points, nearest(made, nodes.points, nodes.normals))
    full = product(passed, np.stack([fall.sum(1) for fall in colours], -1))
    mean = full.mean(1, keepdims=True)
    tint = np.divide(full, mean, out=np.ones_like(full), where=mean > 0)
    white = (falls.red + falls.green + falls.blue) / np.float32(3)
    return Bounced(product(passed, white), tint)


def _past(net: Net) -> np.float32:
    return np.float32(PAST_RAIL if net.surface.kind == "fascia" else 1)


def _falling(direct: F32, reflects: F32, form: SparseRows, between: SparseRows) -> F32:
    """Return (V, G) what falls on knots from cells, which lamps light (C, G) and each other.

    ``form`` (V, C) is how much of what cells give off gets to knots; ``between`` (C, V) is how
    cells mix the light at the knots around them.
    """
    source = direct * reflects
    falls = product(form, source)
    for _ in range(BOUNCES - 1):
        falls = product(form, source + reflects * product(between, falls))
    return falls


def _colours(net: Net, surfaces: Sequence[Surface]) -> F32:
    """Return (C, 3) the reflectance of a net's cells, and of what lies on them."""
    face = net.surface
    out = np.tile(np.asarray(face.colour, np.float32), (len(net.middles), 1))
    quarters = (net.corners + net.middles[:, None]) / 2
    for other in surfaces:
        level = (other.corners[0] - face.corners[0]) @ face.normal
        if other.kind in LIES and other.normal @ face.normal > 0.99 and abs(level) < ON:
            covered = inside(quarters.reshape(-1, 3), other).reshape(-1, 4)
            out += covered.mean(1, keepdims=True) * (np.array(other.colour) - out)
    return out


def _from_knots(made: Sequence[Net], points: F32, which: Ints) -> SparseRows:
    """Return (P, V): how points (P, 3) mix the light at the knots of their net (P,); -1 is none."""
    rows: list[Ints] = []
    columns: list[Ints] = []
    weights, first = [], 0
    for number, net in enumerate(made):
        mine = np.flatnonzero(which == number)
        knots, shares = net.shares(points[mine].astype(np.float64))
        rows.append(np.tile(mine, 4))
        columns.append(knots.ravel() + first)
        weights.append(shares.ravel())
        first += len(net.knots)
    weight = np.concatenate(weights).astype(np.float32)
    shape = len(points), first
    return SparseRows.gathered(np.concatenate(rows), np.concatenate(columns), weight, shape)
