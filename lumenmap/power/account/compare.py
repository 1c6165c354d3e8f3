"""Every figure that ``frames.json`` states, compared with what the bytes and the house give.

A figure that differs is a mistake of somebody's, whoever wrote it: a controller, a page or a person
may go by it. A figure that isn't there is only told.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from lumenmap.core.wording import some
from lumenmap.power.account.recount import Recount
from lumenmap.power.limits.caps import caps
from lumenmap.site import Site

#: Currents are added up in another order here, which may change their last digits (A).
_SAME = 1e-6
#: At most so many differences are told.
MOST_TOLD = 20


def stated(site: Site, counted: Recount, fps: float, flashes: bool) -> dict[str, Any]:
    """Return what ``frames.json`` should state about its frames, by key."""
    budgets = [
        {
            "name": r.name,
            "kind": r.kind,
            "amps": r.amps,
            "peak": r.peak,
            "mean": r.mean,
            "margin": r.amps - r.peak,
            "between": asdict(r.between) if r.between else None,
            "worst_frame": r.worst,
            "worst_time": r.worst / fps,
        }
        for r in counted.rows()
    ]
    known: dict[str, Any] = {
        "house": site.house.name,
        "house_sha256": site.house.sha256,
        "pixel_kind": site.house.kind.name,
        "budget_amps": budgets[0]["amps"],
        "peak_amps": budgets[0]["peak"],
        "budgets": budgets,
        "caps": caps(site.budgets, site.pixels),
    }
    if flashes:
        known["flashing"] = [str(f) for f in counted.flashing]
    return known


def differences(sidecar: Mapping[str, Any], expected: Mapping[str, Any]) -> list[str]:
    """Return where a sidecar states other than is expected, a sentence each."""
    found: list[str] = []
    for key, value in expected.items():
        if key not in sidecar:
            continue
        if key == "house_sha256":
            if sidecar[key] != value:
                found.append(
                    "the house file isn't the one that the frames were made for: its SHA-256 "
                    "differs. Export the show again"
                )
            continue
        found += _different(sidecar[key], value, key)
    return [*found[:MOST_TOLD], *_more(len(found) - MOST_TOLD)]


def missing(sidecar: Mapping[str, Any], expected: Mapping[str, Any]) -> list[str]:
    """Return that a sidecar leaves figures out, if it does."""
    keys = [key for key in expected if key not in sidecar]
    return [f"frames.json doesn't state {', '.join(keys)}: not compared"] if keys else []


def _more(count: int) -> list[str]:
    verb = "differs" if count == 1 else "differ"
    return [f"and {some(count, 'more figure')} of frames.json {verb}"] if count > 0 else []


def _different(there: Any, here: Any, key: str) -> Iterator[str]:
    """Yield where a value differs from what it should be; keys we don't know are passed over."""
    if isinstance(here, Mapping):
        if not isinstance(there, Mapping):
            yield _says(key, there, "a table")
            return
        for name, value in here.items():
            yield from _different(there.get(name), value, f"{key}, {name}")
    elif isinstance(here, list):
        if not isinstance(there, list) or len(there) != len(here):
            size = some(len(there), "item") if isinstance(there, list) else there
            yield _says(key, size, some(len(here), "item"))
            return
        for i, (one, other) in enumerate(zip(there, here, strict=True), 1):
            yield from _different(one, other, f"{key} item {i}")
    elif isinstance(here, float):
        number = isinstance(there, (int, float)) and not isinstance(there, bool)
        if not number or not math.isclose(_float(there), here, rel_tol=1e-9, abs_tol=_SAME):
            yield _says(key, there, f"{here:.6g}")
    elif type(there) is not type(here) or there != here:
        yield _says(key, there, here)


def _float(number: Any) -> float:
    try:
        return float(number)
    except OverflowError:  # JSON's integers have any length
        return math.inf


def _says(key: str, there: Any, here: object) -> str:
    return f"frames.json, {key}: is {str(there)[:60]}; counted again, it is {str(here)[:60]}"
