"""What is done for each message about the show files that there are."""

from __future__ import annotations

from lumenmap.desk import show_files
from lumenmap.desk.client import Client
from lumenmap.desk.hub import Hub
from lumenmap.desk.wire import asked, told
from lumenmap.desk.wire.stretch import write


class ShowAnswers:
    """Answers messages that make a show, remove one, or put one back."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub

    async def new(self, client: Client, message: asked.NewShow) -> None:
        """Make a show."""
        words = (message.title, message.copy_of)
        name = await self._hub.on_bench(show_files.new_show, self._hub.session, *words)
        await self._done(client, message.id, name)

    async def remove(self, client: Client, message: asked.RemoveShow) -> None:
        """Take a show off the list."""
        hub = self._hub
        words = (hub.evening.book, message.file)
        kept = await hub.on_bench(show_files.remove_show, hub.session, *words)
        await self._done(client, message.id, kept)

    async def put_back(self, client: Client, message: asked.PutBack) -> None:
        """Put a show back."""
        hub = self._hub
        name = await hub.on_bench(show_files.put_back, hub.session, message.file)
        await self._done(client, message.id, name)

    async def _done(self, client: Client, number: int, file: str) -> None:
        client.answer(write(told.Accepted(id=number, file=file, version=0)))
        await self._hub.tell_news()
