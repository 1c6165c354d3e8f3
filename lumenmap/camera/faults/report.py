"""What films say of a house, in sentences and as data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from lumenmap.camera.evidence.sight import MORE, best_side, better_place
from lumenmap.camera.faults.diagnose import Diagnosis
from lumenmap.camera.lens.shot import Shot
from lumenmap.core.units import LENGTH
from lumenmap.core.wording import listed
from lumenmap.site import Site


def report_lines(site: Site, found: Diagnosis) -> list[str]:
    """Return the findings in sentences."""
    lines = [*_films(site, found), *found.doubts]
    for reason, (first, *more) in _not_used(found):
        also = f", and neither {'is' if len(more) == 1 else 'are'} {listed(more)}" if more else ""
        lines.append(f"{first} isn't used{also}: {reason}")
    if found.right:
        lines.append("Every pixel that was seen is where the map has it.")
    for number, fault in enumerate(found.faults, 1):
        lines.append(f"{number}. {fault.words}")
        lines += [f"   {line}" for line in fault.change]
    return [*lines, *found.contradictions, *found.hidden, *_unchecked(site, found)]


def report_data(site: Site, found: Diagnosis) -> dict[str, Any]:
    """Return the findings as JSON has them: metres; pixels count from 1 on each line."""
    return {
        "films": [
            {
                "film": film.name,
                "seen": int(found.seen[k].sum()),
                "in_sight": int(found.visible[k].sum()),
                "camera": [round(float(v), 2) for v in film.shot.position],
            }
            for k, film in enumerate(found.films)
        ],
        "not_used": [{"films": names, "reason": reason} for reason, names in _not_used(found)],
        "pixels": len(site.pixels),
        "seen": int(found.seen.any(0).sum()),
        "in_sight": int(found.visible.any(0).sum()),
        "faults": [
            {
                "kind": fault.kind,
                "lines": list(fault.lines),
                "edges": list(fault.edges),
                "pixels": _by_line(site, fault.pixels),
                "words": fault.words,
                "change": list(fault.change),
            }
            for fault in found.faults
        ],
        "doubts": list(found.doubts),
        "contradictions": list(found.contradictions),
        "hidden": list(found.hidden),
        "not_seen": _by_line(site, found.unseen),
        "film_next": _where_to_film(site, found) if found.unseen else None,
    }


def _not_used(found: Diagnosis) -> list[tuple[str, list[str]]]:
    """Return each reason why films aren't used, and which."""
    reasons: dict[str, list[str]] = {}
    for name, reason in found.left_out:
        reasons.setdefault(reason, []).append(name)
    return [*reasons.items()]


def _films(site: Site, found: Diagnosis) -> Iterator[str]:
    """Yield what each film saw, and from where; and what all of them did."""
    seen, visible = found.seen.sum(1).tolist(), found.visible.sum(1).tolist()
    if len(found.films) == 1:
        yield (
            f"{seen[0]} pixels were told apart, of {visible[0]} that this camera could see and "
            f"{len(site.pixels)} in all."
        )
        yield f"The camera stood {_stood(site, found.films[0].shot)}."
        return
    for film, own, of in zip(found.films, seen, visible, strict=True):
        yield (
            f"{film.name}: {own} pixels, of {of} that its camera could see, from "
            f"{_stood(site, film.shot)}."
        )
    yield (
        f"Together {int(found.seen.any(0).sum())} pixels were told apart, of "
        f"{int(found.visible.any(0).sum())} that these cameras could see and "
        f"{len(site.pixels)} in all."
    )


def _stood(site: Site, shot: Shot) -> str:
    """Return where a camera stood, no finer than it is found: some 20 cm."""
    x, y, z = map(float, shot.position)
    if site.house.unit in ("ft", "in"):
        away, aside, high = (f"{abs(v) / float(LENGTH['ft']):.0f} ft" for v in (y, x, z))
    else:
        away, aside, high = (f"{abs(v):.1f} m" for v in (y, x, z))
    where = "behind" if y > 0 else "in front of"
    side = "right" if x >= 0 else "left"
    return f"{away} {where} the house's origin, {aside} to its {side}, {high} high"


def _by_line(site: Site, pixels: tuple[int, ...]) -> dict[str, list[tuple[int, int]]]:
    """Return the stretches of each line's pixels among pixels of the house."""
    out = {}
    for span in site.pixels.lines:
        own = range(span.first, span.first + span.count)
        if numbers := sorted(n - span.first + 1 for n in pixels if n in own):
            out[span.name] = _stretches(numbers)
    return out


def _unchecked(site: Site, found: Diagnosis) -> list[str]:
    """Return which stretches of each line weren't seen, so that a fault there wouldn't show."""
    lines = []
    for name, stretches in _by_line(site, found.unseen).items():
        parts = [f"{a}" if a == b else f"{a} to {b}" for a, b in stretches]
        lines.append(f'  line "{name}": {", ".join(parts)}')
    return ["Not seen, so not checked:", *lines, _where_to_film(site, found)] if lines else []


def _where_to_film(site: Site, found: Diagnosis) -> str:
    place = better_place(site, [film.shot for film in found.films], found.unseen)
    if 2 * place.seen < len(found.unseen):
        other = best_side(site, found.films[0].shot, found.unseen)
        if other.seen > MORE * place.seen:
            return (
                f"To check these, film the house {other.words} too: {other.seen} of "
                f"{len(found.unseen)} should be in sight from there."
            )
    if not place.right:
        if 2 * place.seen < len(found.unseen):
            return "To check these, film the house's other sides too."
        return (
            "To check these, film again from a few steps to one side: most should have been in "
            "sight, so something stands in front of them."
        )
    side = "right" if place.right > 0 else "left"
    than = f" than in {found.films[place.camera].name}" if len(found.films) > 1 else ""
    return (
        f"To check these, film again from about {_steps(place.right, site.house.unit)} further to "
        f"the {side}{than}: {place.seen} of {len(found.unseen)} should be in sight from there."
    )


def _steps(metres: float, unit: str) -> str:
    """Return a distance to walk, in whole feet or metres."""
    in_feet = unit in ("ft", "in")
    return f"{round(abs(metres) / float(LENGTH['ft']))} ft" if in_feet else f"{abs(metres):.0f} m"


def _stretches(numbers: list[int]) -> list[tuple[int, int]]:
    """Return the first and last of each stretch of numbers in a row."""
    out: list[tuple[int, int]] = []
    for n in numbers:
        if out and n == out[-1][1] + 1:
            out[-1] = out[-1][0], n
        else:
            out.append((n, n))
    return out
