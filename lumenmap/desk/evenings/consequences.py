"""What a plan does, in sentences that are read before it is done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date, datetime, timedelta

from lumenmap.almanac.choice import clock, stretches
from lumenmap.almanac.dated import Span, dated
from lumenmap.almanac.model import Almanac
from lumenmap.almanac.several import of_evening
from lumenmap.almanac.times import wall_clocks
from lumenmap.core.errors import InputError
from lumenmap.core.plain import plain
from lumenmap.desk.evenings.plan import Plan
from lumenmap.desk.evenings.tonight import played
from lumenmap.desk.evenings.words import day_words, listed, percent, time_words, when
from lumenmap.desk.wire.days import DaysAnswer

#: Shows that are named; others are counted.
_NAMED = 3
#: Times of an evening by the clock; none if nothing plays.
_Hours = tuple[str, str] | None


def consequences(
    plan: Plan, number: int, now: datetime, tonight: date, titles: Mapping[str, str]
) -> DaysAnswer:
    """Return what a plan does.

    Parameters
    ----------
    number
        Of the message that asks.

    Raises
    ------
    InputError
        It does nothing: the evening is over, or never comes to its hours.
    """
    said = _Said(plan, now, tonight, titles)
    notes = said.notes()
    return DaysAnswer(
        id=number,
        sentence=f"{said.lead()} {said.rest()}",
        notes=notes,
        hushed=any(plan.after.hushed(day) for day in plan.span),
    )


class _Said:
    """A plan in words."""

    def __init__(self, plan: Plan, now: datetime, tonight: date, titles: Mapping[str, str]) -> None:
        self.plan, self.now, self.tonight, self._titles = plan, now, tonight, titles
        self.when = when(plan.span, tonight)
        self.before = self._played(plan.before)
        self.after = self._played(plan.after)

    def _title(self, name: str) -> str:
        return self._titles.get(name) or plain(name.removesuffix(".toml"), 80)

    def _played(self, almanac: Almanac) -> dict[date, tuple[list[str], _Hours]]:
        """Return which shows play on each evening, by title, and from when to when."""
        found: dict[date, tuple[list[str], _Hours]] = {}
        for day in self.plan.span:
            pieces = almanac.evening(day)[0]
            shows = list(dict.fromkeys(self._title(p.show.name) for p in pieces))
            hours = None
            if pieces:
                hours = wall_clocks(pieces[0].start, pieces[-1].stop, almanac.place.zone)
            found[day] = shows, hours
        return found

    # -- what it does ------------------------------------------------------------------------

    def lead(self) -> str:
        """Return what plays, and what doesn't any more."""
        what, wish = self.plan.wish.what, self.plan.wish
        were = _names(self.before)
        if what == "dark":
            return f"Dark {self.when}{self._silenced()}"
        if what == "brightness":
            names = _names({r: self.after[r] for run, _ in self.plan.runs for r in run})
            plays = "plays" if len(names) == 1 else "play"
            return f"{listed(names)} {plays} at {percent(wish.level or 1)} {self.when}."
        if what == "planned":
            if not (now := _names(self.after)):
                return f"As planned {self.when}: nothing plays."
            return f"As planned {self.when}: {listed(now)} {self._hours()}."
        return self._show(were)

    def _silenced(self) -> str:
        """Return what a dark evening takes away; what has been played isn't taken away."""
        coming = {day: played for day, played in self.before.items() if not self._ended(day)}
        if not (were := _names(coming)):
            return "; nothing was planned then."
        one, begun = len(were) == 1, self.plan.before.at(self.now)
        if [*coming] == [self.tonight] and begun and one:
            return f": {listed(were)} stops."
        return f": {listed(were)} {'doesn' if one else 'don'}'t play."

    def _show(self, were: list[str]) -> str:
        wish = self.plan.wish
        title = self._title(wish.file or "")
        others = [name for name in were if name != title]
        bright = f" at {percent(wish.level)}" if wish.level and wish.level < 1 else ""
        does = f"replaces {listed(others)}" if others else "plays"
        text = f"{title} {does} {self.when}, {self._hours()}{bright}"
        dark = sum(not shows for shows, _ in self.before.values())
        if not were:
            return f"{text}; nothing was planned then."
        hours = {hours for _, hours in self.before.values()}
        if not others and len(hours) == 1 and hours != {h for _, h in self.after.values()}:
            (was,) = hours
            text += f", instead of {was[0]} to {was[1]}" if was else ""
        if dark:
            text += f"; on {dark} of these evenings nothing was planned"
        return f"{text}."

    def _hours(self) -> str:
        """Return from when to when, by the clock if that is the same every evening."""
        times = list(dict.fromkeys(hours for _, hours in self.after.values() if hours))
        if len(times) == 1:
            return f"from {times[0][0]} to {times[0][1]}"
        written = {(c.start, c.stop) for _, choices in self.plan.runs for c in choices}
        if not self.plan.runs:
            after = self.plan.after
            written = {(c.start, c.stop) for day in self.plan.span for c in stretches(after, day)}
        if len(written) == 1:
            ((start, stop),) = written
            return f"from {time_words(start)} to {time_words(stop)}"
        return "at the hours that were planned"

    def rest(self) -> str:
        """Return what was chosen before and goes, and what holds after that."""
        gone = [self._gone(table) for table in self.plan.gone if self._differs(table)]
        more = [f"{len(gone) - _NAMED} more"] if len(gone) > _NAMED else []
        text = f"What was chosen before goes: {listed(gone[:_NAMED] + more)}. " if gone else ""
        following = self.plan.span.last + timedelta(days=1)
        once = of_evening(self.plan.once, following)
        if not once:
            return f"{text}After that, everything as planned."
        chosen = {self._what(table) for table in once}
        return f"{text}After that, as chosen: {listed(sorted(chosen))}."

    def _differs(self, table: Mapping[str, object]) -> bool:
        """Return whether a table that goes isn't just changed a little."""
        wish = self.plan.wish
        named = table.get("name", "") not in ("", wish.name)
        return wish.what != "brightness" and (named or table.get("show") != wish.file)

    def _what(self, table: Mapping[str, object]) -> str:
        if table.get("name"):
            return plain(str(table["name"]), 80)
        return self._title(str(table["show"])) if table.get("show") else "dark"

    def _gone(self, table: Mapping[str, object]) -> str:
        own, span = dated(table.get("date")), self.plan.span
        assert own is not None
        both = Span(max(own.first, span.first), min(own.last, span.last))
        return self._what(table) + (f" {when(both, self.tonight)}" if both != span else "")

    # -- what else is to be known ------------------------------------------------------------

    def notes(self) -> list[str]:
        """Return what isn't as the person may think: quiet hours, the sun, an evening that is over.

        Raises
        ------
        InputError
            Nothing of it would ever play.
        """
        if self.plan.wish.what not in ("show", "brightness"):
            return [*self._over(), *self._around()]
        return [*self._never(), *self._quiet(), *self._over(), *self._around()]

    def _never(self) -> list[str]:
        meant = [day for span, _ in self.plan.runs for day in span]
        never = [day for day in meant if not self.after[day][0]]
        if not never:
            return []
        if any(self.plan.after.hushed(day) for day in never):
            return []  # said with the quiet hours
        reasons = [note for day in never for note in self.plan.after.evening(day)[1]]
        why = f": {plain(reasons[0], 200)}" if reasons else ""
        if len(never) == len(meant):
            raise InputError(f"that would never play{why}")
        return [f"On {len(never)} of these evenings it doesn't play{why}."]

    def _quiet(self) -> list[str]:
        for day in self.plan.span:
            for _, start, stop in self.plan.after.hushed(day):
                almanac = self.plan.after
                begin, end = wall_clocks(start, stop, almanac.place.zone)
                return [f"From {begin} to {end} it is dark all the same: those are quiet hours."]
        return []

    def _around(self) -> list[str]:
        """Say how the evenings before and after change: one ends, or begins, after midnight."""
        span, found = self.plan.span, []
        for day in (span.first - timedelta(days=1), span.last + timedelta(days=1)):
            was, now = (a.evening(day)[0] for a in (self.plan.before, self.plan.after))
            if was != now and day >= self.tonight:
                plays = played(self.plan.after, now, self._titles) or "nothing plays"
                date_words = f"{day:%A} {day_words(day, self.tonight)}"
                found.append(f"{date_words} changes with that: {plays}.")
        return found

    def _over(self) -> list[str]:
        """Say that tonight has ended; nothing else is changed in vain."""
        ended = self._ended(self.tonight) if self.tonight in self.plan.span else ""
        if not ended:
            return []
        what = self.plan.wish.what
        if len(self.plan.span) == 1 and what != "planned":
            instead = "it is dark already" if what == "dark" else "choose until when it should play"
            raise InputError(f"tonight ended at {ended}; {instead}")
        return [f"Tonight ended at {ended} already."]

    def _ended(self, day: date) -> str:
        """Return by the clock when an evening ended, if it has; a dark one, when it would have."""
        almanac = self.plan.before if self.plan.wish.what == "dark" else self.plan.after
        pieces = almanac.evening(day)[0]
        over = pieces and pieces[-1].stop <= self.now
        return clock(almanac, pieces[-1].stop) if over else ""


def _names(played: Mapping[date, tuple[list[str], _Hours]]) -> list[str]:
    """Return the shows that play, the one of the most evenings first; of many the first few."""
    counts = Counter(name for shows, _ in played.values() for name in shows)
    names = [name for name, _ in counts.most_common()]
    more = len(names) - _NAMED
    return names if more <= 0 else [*names[:_NAMED], f"{more} more"]
