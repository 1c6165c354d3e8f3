"""What is done for each message about evenings."""

from __future__ import annotations

from lumenmap.desk.client import Client
from lumenmap.desk.evenings.evening import Change
from lumenmap.desk.hub import Hub
from lumenmap.desk.wire import told
from lumenmap.desk.wire.days import AskDays, LookDays
from lumenmap.desk.wire.stretch import write


class EveningAnswers:
    """Answers messages about tonight and the evenings to come."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub

    async def change(self, client: Client, message: Change) -> None:
        """Change evenings, and tell everybody."""
        try:
            await self._hub.on_bench(self._hub.evening.change, message)
            client.answer(write(told.Accepted(id=message.id, version=0)))
        finally:  # refused, it may be otherwise than the page shows, and undo has another step
            await self._hub.tell_news()

    async def ask(self, client: Client, message: AskDays) -> None:
        """Say what a wish would do."""
        client.answer(write(await self._hub.on_bench(self._hub.evening.ask, message)))

    async def look(self, client: Client, message: LookDays) -> None:
        """Tell how evenings stand, now and whenever they change."""
        client.days, client.days_told = (message.first, message.count), ""
        await self._hub.news.days(client)
