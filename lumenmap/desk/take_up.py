"""What follows from files that have changed on disk."""

from __future__ import annotations

from lumenmap.desk.evenings.evening import Evening
from lumenmap.desk.session import Session


def take_up(session: Session, evening: Evening, names: set[str]) -> tuple[bool, list[str]]:
    """Read again what has changed.

    Returns
    -------
    Whether the house or the effects are others now, and the open shows to be told anew.
    """
    session.folder.look()
    effect = any(not n.endswith(".toml") for n in names)
    house = effect or session.folder.house in names
    if effect:
        session.ground.read_effects()
    if session.folder.house in names:
        session.ground.read_house()
    if house:
        session.again()
    if house or evening.book.names & names:
        evening.book.read()
    changed = [n for n in session.shows if n in names and session.take_from_disk(n)]
    return house, list(session.shows) if house else changed
