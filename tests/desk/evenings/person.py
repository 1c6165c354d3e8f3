"""Somebody who chooses evenings, at a time of the test's choosing."""

import tomllib
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from dateutil.rrule import DAILY, rrule

from lumenmap.almanac.load import load_almanac
from lumenmap.desk.evenings.evening import Evening
from lumenmap.desk.light.live import Live
from lumenmap.desk.session import Session
from lumenmap.desk.tell import titles
from lumenmap.desk.wire.days import AskDays, SetDays, Wish
from tests.desk.conftest import ALMANAC

ZONE = ZoneInfo("America/Los_Angeles")


def at(text):
    return datetime.fromisoformat(text).replace(tzinfo=ZONE).astimezone(UTC)


def day(text):
    return date.fromisoformat(text)


class Night:
    """An evening at a time of the test's choosing."""

    def __init__(self, folder, text=ALMANAC):
        self.path = folder / "almanac.toml"
        self.path.write_text(text, "utf-8")
        self.time = at("2026-11-25 17:00")
        live = Live(lambda take: None, lambda take, why: None)
        session = Session(folder, live)
        self.evening = Evening(session.folder, lambda: self.time, lambda: titles(session))

    def tell(self):
        self.evening.book.read()
        return self.evening.tell()

    def do(self, kind, **words):
        self.evening.change(kind(id=1, **words))
        return self.tell()

    @property
    def text(self):
        return self.path.read_text("utf-8")

    @property
    def once(self):
        return tomllib.loads(self.text).get("once", [])

    def plays(self, time):
        """What `lumenmap run` would play: by the file alone."""
        piece = load_almanac(self.path).at(at(time))
        return (piece.show.name, piece.brightness) if piece else None


class Days(Night):
    """A person who chooses other evenings; it is 25 November 2026, 17:00, in Seattle."""

    def wish(self, first, last=None, what="show", **words):
        if what == "show":
            words.setdefault("file", "other.toml")
        return Wish(first=day(first), last=day(last or first), what=what, **words)

    def ask(self, *words, **more):
        return self.evening.ask(AskDays(id=1, wish=self.wish(*words, **more)))

    def choose(self, *words, **more):
        """Read what it does, and do it; return what was read."""
        wish = self.wish(*words, **more)
        answer = self.evening.ask(AskDays(id=1, wish=wish))
        self.evening.change(SetDays(id=2, wish=wish, agreed=answer.sentence))
        return answer

    def coming(self, count=40, first=None):
        return {d.date: d for d in self.evening.coming(day(first) if first else None, count).days}

    def shows(self, first, last):
        """Which show `lumenmap run` would play on each evening at 20:00: by the file alone."""
        almanac, found = load_almanac(self.path), []
        for moment in rrule(
            DAILY, dtstart=datetime.fromisoformat(first), until=datetime.fromisoformat(last)
        ):
            piece = almanac.at(at(f"{moment:%Y-%m-%d} 20:00"))
            found.append(piece.show.stem if piece else "")
        return found
