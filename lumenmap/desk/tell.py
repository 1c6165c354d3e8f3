"""What is told of an open house: messages made from a session."""

from __future__ import annotations

import re
from pathlib import Path

from lumenmap.colour.palettes import builtin
from lumenmap.core.errors import LumenmapError
from lumenmap.core.toml.reading import parsed
from lumenmap.desk.describe.house import house_facts, own_places
from lumenmap.desk.describe.keys import show_values, tables
from lumenmap.desk.describe.show import (
    colours,
    cue_facts,
    effect_facts,
    palette_facts,
    palettes_of,
)
from lumenmap.desk.evenings.book import Book
from lumenmap.desk.ground import as_input
from lumenmap.desk.listen import home_networks
from lumenmap.desk.session import Session
from lumenmap.desk.wire import facts, told
from lumenmap.desk.wire import stretch as wire
from lumenmap.motion.easing import NAMES
from lumenmap.motion.ways import PLACES, WAYS
from lumenmap.show.load import show_from
from lumenmap.show.model import BLENDS, Show


def session_message(session: Session, picture: str) -> told.Session:
    """Return what a page is told first; rights and place are those of a stranger."""
    site = session.ground.site
    unit = site.house.unit if site else "m"
    return told.Session(
        version=wire.VERSION,
        folder=session.folder.path.resolve().name,
        rights="evening",
        local=False,
        house=house_facts(site, picture) if site else None,
        effects=effect_facts(session.ground.effects, unit),
        palettes=palette_facts(builtin(), own=False),
        blends=list(BLENDS),
        easings=[name for name in NAMES if "(" not in name],
        ways=dict(WAYS),
        watch=session.watched or "",
        tables=tables(unit),
        routes=list(site.house.routes) if site else [],
        networks=home_networks(),
        corners=[*PLACES, *(site.house.corners if site else ())],
    )


def rows(session: Session) -> told.Shows:
    """Return the shows of the folder, by title."""
    found = [_row(session, name) for name in session.folder.named("show")]
    return told.Shows(shows=sorted(found, key=lambda row: _as_listed(row.title)))


def _as_listed(title: str) -> str:
    """Return a title as it is sorted: capitals don't count, and 10 comes after 9."""
    return re.sub(r"\d+", lambda m: m[0].zfill(12), title.casefold())


def _row(session: Session, name: str) -> facts.ShowRow:
    if name in session.shows:
        show = session.shows[name].project.show
        return _good_row(name, show)
    path = session.folder.path / name
    try:
        stat = path.stat()
    except OSError:
        return facts.ShowRow(file=name, title=path.stem, seconds=None, problem="")
    stamp = stat.st_mtime_ns, stat.st_size
    known = session.rows.get(name)
    if known is None or known[0] != stamp:
        known = session.rows[name] = stamp, _read_row(session, name, path)
    return known[1]


def _read_row(session: Session, name: str, path: Path) -> facts.ShowRow:
    ground = session.ground
    if ground.site is None:
        return facts.ShowRow(file=name, title=path.stem, seconds=None, problem="")
    try:
        raw = parsed(session.folder.read(name), path)
        show = show_from(raw, path, unit=ground.site.house.unit, known=ground.effects)
    except LumenmapError as error:
        problem = str(error).splitlines()[0]
        return facts.ShowRow(file=name, title=path.stem, seconds=None, problem=problem)
    return _good_row(name, show)


def _good_row(name: str, show: Show) -> facts.ShowRow:
    return facts.ShowRow(
        file=name, title=show.name, seconds=show.seconds, problem="", colours=colours(show)
    )


def titles(session: Session) -> dict[str, str]:
    """Return the title of each show file, of those too that are gone but still in use."""
    known = {name: show.project.show.name for name, show in session.shows.items()}
    return known | {row.file: row.title for row in rows(session).shows}


def show_message(session: Session, name: str) -> told.Show:
    """Return what the page needs to know of an open show."""
    opened = session.shows[name]
    document, show = opened.document, opened.project.show
    undoes, redoes = document.history.next("undo"), document.history.next("redo")
    named = document.data.get("palette", {})
    return told.Show(
        file=name,
        version=document.version,
        number=opened.number,
        saved=document.saved,
        title=show.name,
        fps=show.fps,
        frames=show.frames,
        tempo=document.data.get("show", {}).get("tempo"),
        data=document.json,
        cues=cue_facts(opened.project),
        palettes=palettes_of(named),
        can_undo=undoes is not None,
        can_redo=redoes is not None,
        undoes=undoes.label if undoes else "",
        redoes=redoes.label if redoes else "",
        changed_by=document.changed_by,
        notes=list(show.notes),
        values=show_values(show, document.data.get("show", {}), opened.project.site.house.unit),
        places=own_places(opened.project),
    )


def problem_message(session: Session, book: Book) -> told.Problems:
    """Return all files that can't be used as they stand."""
    found = dict(session.problems)
    if book.error is not None and session.folder.almanac is not None:
        found[session.folder.almanac] = as_input(book.error)
    for listed in session.folder.files.values():
        if listed.problem is not None:
            found.setdefault(listed.name, listed.problem)
    return told.Problems(
        problems=[
            facts.Problem(
                file=name,
                sentence=": ".join(filter(None, [e.key if e.key != "disk" else "", e.message])),
                line=e.line,
                excerpt=e.excerpt,
                mend=e.key != "disk",
            )
            for name, error in found.items()
            for e in error.each[:5]
        ]
    )
