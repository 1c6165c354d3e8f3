"""What everybody is told of a house, and what of it is new."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

from lumenmap.desk import tell
from lumenmap.desk.client import Client
from lumenmap.desk.evenings.evening import Evening
from lumenmap.desk.session import Session
from lumenmap.desk.wire import told
from lumenmap.desk.wire.stretch import write


class News:
    """Messages that are the same for all browsers, and the evenings that one looks at.

    Parameters
    ----------
    on_bench
        Works a function out on the session's bench.
    """

    def __init__(
        self, session: Session, evening: Evening, on_bench: Callable[..., Awaitable[Any]]
    ) -> None:
        self._evening, self._on_bench = evening, on_bench
        self._makers: dict[str, Callable[[], told.ServerMessage]] = {
            "shows": lambda: tell.rows(session),
            "evening": lambda: told.Evening(tonight=evening.tell()),
            "problems": lambda: tell.problem_message(session, evening.book),
        }
        self._last: dict[str, str] = {}

    async def all(self) -> dict[str, str]:
        """Return the shows, the evening and what is wrong."""
        return {what: write(await self._on_bench(make)) for what, make in self._makers.items()}

    async def new(self) -> dict[str, str]:
        """Return those that aren't as they were when this was asked last."""
        found = await self.all()
        news = {what: text for what, text in found.items() if self._last.get(what) != text}
        self._last |= news
        return news

    async def days(self, client: Client) -> None:
        """Tell a browser the evenings that it looks at, if they are new to it."""
        if (looked := client.days) is None:
            return
        text = write(await self._on_bench(self._evening.coming, *looked))
        if client.days == looked and client.days_told != text:
            client.days_told = text
            client.tell("days", text)
