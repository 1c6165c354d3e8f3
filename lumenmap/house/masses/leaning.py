"""A roof that leans on another mass: it goes on until it meets that one's wall or roof.

The mass is made longer on the side on which it leans, into the other one, so that the hull has no
gap between them; of its edges, what is inside the other is cut off.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from lumenmap.core.errors import InputError, unknown
from lumenmap.house.masses.filled import placed, placing, room, solids
from lumenmap.house.masses.kinds import Side
from lumenmap.house.masses.mass import Longer, Mass, Points
from lumenmap.house.masses.roofs import OPPOSITE, roof
from lumenmap.house.masses.shape import OUTWARD
from lumenmap.solids.convex import Convex, passages

#: A roof goes on for so long at most (m): what it leans on is nearer.
FAR = 60.0
#: How far it goes on inside the other mass (m), so that its end can't be seen.
WITHIN = 0.3
#: Less of an edge than this isn't one (m).
SHORTEST = 0.05


def leaned(mass: Mass, others: Mapping[str, Mass | None]) -> Mass:
    """Return a mass as long as it gets by leaning on another, if it does.

    Parameters
    ----------
    others
        All masses by name; None for one that can't be read, on which nothing leans.

    Raises
    ------
    InputError
        No such mass, a roof that can't lean, one that doesn't meet the other, or masses that lean
        on each other in a circle.
    """
    if mass.leans_on is None:
        return mass
    if mass.leans_on not in others:
        raise InputError(unknown("mass", mass.leans_on, others, plural="Masses"), key="leans_on")
    if mass.name in _held_by(mass, others):
        raise InputError(
            f'is "{mass.leans_on}", but a mass can\'t lean on itself, nor on one that leans on it',
            key="leans_on",
        )
    if mass.roof not in ("shed", "gable"):
        raise InputError(
            f'goes with roof = "shed" or "gable"; this one is "{mass.roof}"', key="leans_on"
        )
    on = others[mass.leans_on]
    if on is None:
        return mass
    with contextlib.suppress(InputError):  # told of that mass itself
        on = leaned(on, others)
    side = _side(mass, on)
    try:
        return _longer(mass, side, _reach(mass, on, side))
    except InputError:
        if (there := _beside_it(mass, on)) in (None, side):
            raise
        raise InputError(_turn(mass, side, there), key="leans_on") from None


def _beside_it(mass: Mass, on: Mass) -> Side | None:
    """Return the side on which all of another mass is, wall to wall; None if it is on none."""
    rotation, offset = placing(mass)
    corners = [[x, y, 0] for x in (0.0, on.width) for y in (0.0, on.depth)]
    xy = ((placed(np.array(corners), on) - offset) @ rotation)[:, :2]
    (left, front), (right, back) = xy.min(0), xy.max(0)
    out: dict[Side, float] = {"left": -right, "right": left - mass.width}
    out |= {"front": -back, "back": front - mass.depth}
    side = max(out, key=lambda s: out[s])
    return side if out[side] > -WITHIN else None


def _turn(mass: Mass, side: Side, there: Side) -> str:
    """Say which way to turn the roof of a mass that leans with another side than it should."""
    if mass.roof == "shed":
        now, then = f"it rises to the {side}", f'high = "{there}"'
    elif mass.hip_end is not None:
        now, then = f"its hip is at the {mass.hip_end}", f'hip_end = "{OPPOSITE[there]}"'
        ridge = "across" if there in ("left", "right") else "away"
        then = then if mass.ridge == ridge else f'ridge = "{ridge}" and {then}'
    else:
        ways = {"away": "runs away from the street", "across": "runs along the street"}
        now = f"its ridge {ways[mass.ridge]}"
        then = f'ridge = "{"away" if mass.ridge == "across" else "across"}"'
    beside = {"front": "in front of it", "back": "behind it"}
    where = beside.get(there, f"to the {there} of it")
    return f'is "{mass.leans_on}", which is {where}, but {now}, so it leans that way; write {then}'


def _held_by(mass: Mass, others: Mapping[str, Mass | None]) -> list[str]:
    """Return the mass that one leans on, the one that this leans on, and so on."""
    found: list[str] = []
    at: Mass | None = mass
    while at is not None and at.leans_on is not None and at.leans_on not in found:
        found.append(at.leans_on)
        at = others.get(at.leans_on)
    return found


def _side(mass: Mass, on: Mass) -> Side:
    """Return the side with which a mass leans on another."""
    if mass.roof == "shed":
        return mass.high
    if mass.hip_end is not None:
        return OPPOSITE[mass.hip_end]
    middle = placed(np.array([[on.width / 2, on.depth / 2, 0]]), on)[0]
    rotation, offset = placing(mass)
    x, y, _ = rotation.T @ (middle - offset)
    if mass.ridge == "away":
        return "back" if y > mass.depth / 2 else "front"
    return "right" if x > mass.width / 2 else "left"


def _reach(mass: Mass, on: Mass, side: Side) -> float:
    """Return how far from its wall a mass has to go on, to have its end inside the other (m)."""
    walls = room(on)
    inner = [walls] if walls is not None else list(solids(on))
    start = -_long(mass, side) - mass.overhang.of(OPPOSITE[side])
    found = []
    for line in _probes(mass, side):
        for low, high in passages(inner, placed(line, mass))[:1]:
            at = low + min(WITHIN, (high - low) / 2)
            found.append(start + at * (FAR - start) / float(np.linalg.norm(line[1] - line[0])))
    if not found:
        raise InputError(
            f'is "{on.name}", but this roof passes it by; look at eave, slope and position',
            key="leans_on",
        )
    return max(found)


def _probes(mass: Mass, side: Side) -> Iterator[Points]:
    """Yield lines (2, 3) along the rims and the ridge, from the far end out of one of the sides."""
    shape, long = roof(mass), _long(mass, side)
    first, last = _beside(side)
    wide = _long(mass, first)
    level = [-mass.overhang.of(first), wide + mass.overhang.of(last)]
    if mass.roof == "gable":
        level.append(wide / 2)
    out = np.array(OUTWARD[side], float)
    origin = np.array([mass.width, mass.depth, 0]) * (out > 0)
    across = np.abs(np.array(OUTWARD[first], float))
    for at in level:
        line = []
        for far in (-long - mass.overhang.of(OPPOSITE[side]), FAR):
            run = long + far if mass.roof == "shed" else min(at, wide - at)
            line.append(origin + far * out + at * across + [0, 0, shape.rise(run)])
        yield np.array(line)


def _beside(side: Side) -> tuple[Side, Side]:
    """Return the two sides next to one, the one at the axis first."""
    return ("left", "right") if side in ("front", "back") else ("front", "back")


def _long(mass: Mass, side: Side) -> float:
    """Return the length of a mass towards one of its sides (m)."""
    return mass.depth if side in ("front", "back") else mass.width


def _longer(mass: Mass, side: Side, by: float) -> Mass:
    """Return a mass that goes on ``by`` m on one side: with its walls, or the roof alone."""
    if not mass.walls:
        return mass._replace(overhang=mass.overhang._replace(**{side: by}))
    # Of one that begins inside the other, no more than this is left.
    if _long(mass, side) + by <= WITHIN:
        raise InputError(
            f'is "{mass.leans_on}", which is in front of all of it; look at position',
            key="leans_on",
        )
    back = side in ("front", "back")
    moved = np.zeros(3)
    if side in ("front", "left"):
        moved = placing(mass)[0] @ np.array(OUTWARD[side], float) * by
    return mass._replace(
        width=mass.width + (0 if back else by),
        depth=mass.depth + (by if back else 0),
        position=(mass.position[0] + float(moved[0]), mass.position[1] + float(moved[1])),
        overhang=mass.overhang._replace(**{side: 0.0}),
        longer=Longer(side, by),
    )


def cut_off(line: Points, on: Sequence[Convex]) -> Points | None:
    """Return what is left of a line (K, 3) outside what its mass leans on; None if nothing is.

    A line that bends, or that is inside in its middle alone, stays as it is.
    """
    inside = passages(on, line)
    if len(line) != 2 or not inside:
        return line
    length = float(np.linalg.norm(line[1] - line[0]))
    low, high = 0.0, length
    for first, last in inside:
        if first < SHORTEST:
            low = last
        elif last > length - SHORTEST:
            high = first
    if high - low < SHORTEST:
        return None
    way = (line[1] - line[0]) / length
    return np.array([line[0] + low * way, line[0] + high * way])
