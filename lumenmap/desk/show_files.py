"""Shows that come to the folder, are taken off its list, and are put back.

Strategy: a show that is removed keeps its file, under a name that no list shows, so that a stray
touch loses nothing.
"""

from __future__ import annotations

from lumenmap.core.errors import InputError
from lumenmap.core.plain import plain
from lumenmap.desk.evenings.book import Book
from lumenmap.desk.files.blank import blank_show
from lumenmap.desk.files.document import Document
from lumenmap.desk.session import Session


def new_show(session: Session, title: str, copy_of: str | None) -> str:
    """Make a show file; return its name.

    Raises
    ------
    LumenmapError
        It can't be written, its title can't be one, or there is no such show to copy.
    """
    session.require_desk()
    folder = session.folder
    if copy_of is None:
        text = blank_show(title, folder.house or "house.toml")
    else:
        path = folder.path_of(copy_of, "show")
        text = Document(path, folder.read(copy_of)).retitled(title)
    name = folder.free_name(title)
    session.project(folder.path / name, text)
    folder.create(name, text)
    session.forget(name)  # somebody may still look at one of that name that is gone
    return name


def remove_show(session: Session, book: Book, name: str) -> str:
    """Take a show off the list; return the name that its file is kept under.

    Raises
    ------
    InputError
        It is to play on an evening, it is the only show, or not all of it can be saved.
    """
    session.require_desk()
    folder = session.folder
    path = folder.path_of(name, "show")
    if len(folder.named("show")) == 1:
        raise InputError("this is the only show here; make another one before you remove it")
    if rules := book.rules_with(path.name, session.now().date()):
        listed = ", ".join(f'"{plain(rule, 40)}"' for rule in rules[:3])
        more = f" and {len(rules) - 3} more" if len(rules) > 3 else ""
        raise InputError(
            f"{folder.almanac} plays this show ({listed}{more}); choose another show there first"
        )
    if name in session.shows:
        session.save(name)
        if not session.shows[name].document.saved:
            raise InputError("its last changes can't be saved yet, so it isn't removed")
    kept = folder.put_away(name)
    session.removed[name] = kept
    return kept


def put_back(session: Session, name: str) -> str:
    """Put a show on the list again that was removed; return its name.

    Raises
    ------
    InputError
        It wasn't removed, its file is gone, or another has its name.
    """
    kept = session.removed.get(name)
    if kept is None:
        raise InputError(f'no show file "{plain(name, 60)}" was removed since the desk was opened')
    session.folder.bring_back(kept, name)
    del session.removed[name]
    return name
