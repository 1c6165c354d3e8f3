"""A house as the page needs it: edges in the picture, names to lie on, budgets."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_length
from lumenmap.desk.wire import facts
from lumenmap.jobs.project import Project
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pictures.scene.view import view_camera
from lumenmap.pixels.places import Places
from lumenmap.site import Site

#: The size that positions in the picture are worked out for; any of its shape will do.
WIDTH, HEIGHT = 640, 360
#: Points of an edge's outline, at most.
_POINTS = 24
_ORDER = ("supply", "branch", "wire")


def house_facts(site: Site, picture: str) -> facts.House:
    """Return what the page needs to know of a house.

    Raises
    ------
    InputError
        The house can't be wired, fed or seen.
    """
    pixels, house = site.pixels, site.house
    budgets = site.budgets
    rows = budget_order(site)
    return facts.House(
        name=house.name,
        file=house.file.name if house.file else "",
        unit=house.unit,
        pixels=len(pixels),
        channels=pixels.kind.channels,
        picture=picture,
        edges=_edges(site),
        places=_places(site),
        lines=[
            facts.Line(name=s.name, first=s.first, count=s.count, order=s.order)
            for s in pixels.lines
        ],
        budgets=[
            facts.Budget(
                name=budgets.names[k],
                kind=budgets.kinds[k],
                amps=float(budgets.amps[k]) if np.isfinite(budgets.amps[k]) else None,
            )
            for k in rows
        ],
        supplies=sum(kind == "supply" for kind in budgets.kinds),
        screen=[round(float(v), 6) for v in site.dies.screen.flat],
        matching=[round(float(v), 6) for v in site.dies.matching.flat],
        notes=list(pixels.notes),
        dangers=[str(finding) for finding in site.verdict.dangers],
    )


def budget_order(site: Site) -> list[int]:
    """Return the numbers of the site's budgets in the page's order: supplies first."""
    kinds = site.budgets.kinds
    return sorted(range(len(kinds)), key=lambda k: (_ORDER.index(kinds[k]), k))


def runs(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return (first, count) of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]])))
    return [(int(a), int(b - a)) for a, b in edges.reshape(-1, 2)]


def _edges(site: Site) -> list[facts.Edge]:
    pixels, house = site.pixels, site.house
    camera = view_camera(site, "street", WIDTH, HEIGHT)
    seen, _ = camera.project(lamp_places(site)[0])
    places = seen / (WIDTH, HEIGHT)
    found = []
    for number, name in enumerate(pixels.edge_names):
        own = np.flatnonzero((pixels.edge == number) & pixels.lit)
        if not len(own):
            continue
        along = own[np.argsort(pixels.along_edge[own], kind="stable")]
        picked = along[np.unique(np.linspace(0, len(along) - 1, _POINTS).round().astype(int))]
        edge = house.edges[name]
        found.append(
            facts.Edge(
                name=name,
                kind=edge.kind,
                mass=edge.mass,
                length=show_length(edge.length, house.unit),
                pixels=len(own),
                outline=[(round(float(x), 4), round(float(y), 4)) for x, y in places[picked]],
            )
        )
    return found


def _places(site: Site) -> list[facts.Place]:
    """Return every name that a layer can lie on, each once."""
    pixels, house = site.pixels, site.house
    edges = [house.edges[name] for name in pixels.edge_names]
    named: list[tuple[str, str]] = [
        *((name, "group") for name in house.groups),
        *((name, "route") for name in house.routes),
        *((edge.name, "edge") for edge in edges),
        *((edge.mass, "mass") for edge in edges if edge.mass),
        *((edge.kind, "kind") for edge in edges),
        *((span.name, "line") for span in pixels.lines),
    ]
    return _lit_places(site, Places(pixels, house), named)


def own_places(project: Project) -> list[facts.Place]:
    """Return a show's own groups and routes as places."""
    show, site = project.show, project.site
    named = [*((n, "group") for n in show.groups), *((n, "route") for n in show.routes)]
    return _lit_places(site, Places(site.pixels, site.house, show.groups, show.routes), named)


def _lit_places(site: Site, places: Places, named: list[tuple[str, str]]) -> list[facts.Place]:
    found: dict[str, facts.Place] = {}
    for (name, what), _ in itertools.groupby(named):
        if name not in found:
            try:
                mask = places.mask([name]) & site.pixels.lit
            except InputError:  # one that no layer uses may be half composed
                mask = np.zeros(len(site.pixels), bool)
            found[name] = facts.Place.model_validate(
                {"name": name, "what": what, "pixels": int(mask.sum()), "rows": runs(mask)}
            )
    return [p for p in found.values() if p.pixels or p.what in ("group", "route")]
