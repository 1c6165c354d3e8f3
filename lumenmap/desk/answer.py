"""What is done for each message of a browser, and whether it may ask for it."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable
from typing import Any

from lumenmap.colour.palette import Palette
from lumenmap.controller.artnet.poll import Node
from lumenmap.controller.discovery import find, read_network
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.desk.client import Client
from lumenmap.desk.describe.sentence import conflict, refusal, sentence
from lumenmap.desk.describe.show import palette_check, strip
from lumenmap.desk.evening_answers import EveningAnswers
from lumenmap.desk.files.meaning import ConflictError
from lumenmap.desk.hub import Hub
from lumenmap.desk.show_answers import ShowAnswers
from lumenmap.desk.wire import asked, facts, told
from lumenmap.desk.wire.asked import ClientMessage
from lumenmap.desk.wire.days import AskDays, LookDays, SetDays
from lumenmap.desk.wire.hours import SetHours
from lumenmap.desk.wire.stretch import read, write

#: What a device with the right "evening" may ask.
_EVENING = (
    asked.Open,
    asked.Look,
    asked.AllowFlashing,
    asked.Choose,
    asked.Brightness,
    asked.Dark,
    asked.UndoEvening,
    LookDays,
    AskDays,
    SetDays,
)


class Answers:
    """Answers browsers' messages.

    Parameters
    ----------
    invite
        Returns the invitation for a message.
    """

    def __init__(self, hub: Hub, invite: Callable[[asked.Invite], told.Invitation]) -> None:
        self._hub, self._invite = hub, invite
        self._finding = asyncio.Lock()
        evenings, shows = EveningAnswers(hub), ShowAnswers(hub)
        self._acts: dict[type[Any], Callable[[Client, Any], Awaitable[None]]] = {
            asked.Open: self._open,
            asked.Look: self._look,
            asked.MakeEdits: self._edit,
            asked.Undo: self._walk,
            asked.Redo: self._walk,
            asked.Restore: self._walk,
            asked.NewShow: shows.new,
            asked.RemoveShow: shows.remove,
            asked.PutBack: shows.put_back,
            asked.Choose: evenings.change,
            asked.Brightness: evenings.change,
            asked.Dark: evenings.change,
            asked.UndoEvening: evenings.change,
            SetDays: evenings.change,
            SetHours: evenings.change,
            AskDays: evenings.ask,
            LookDays: evenings.look,
            asked.LightHouse: self._light,
            asked.AllowFlashing: self._allow,
            asked.CheckPalette: self._palette,
            asked.Invite: self._invited,
            asked.FindControllers: self._find,
        }

    async def take(self, client: Client, text: str | bytes) -> str:
        """Answer a message; return why the socket has to be closed, or nothing."""
        if not client.messages.take():
            return "This page sends more than 300 messages a second. Load it again."
        message: ClientMessage | None = None
        try:
            message = read(text)
            self._check(client, message)
            await self._acts[type(message)](client, message)
        except LumenmapError as error:
            if not client.answer(write(_refusal(message, error))):
                return "This page asks faster than it reads the answers. Load it again."
        return ""

    def _check(self, client: Client, message: ClientMessage) -> None:
        if client.rights != "compose" and not isinstance(message, _EVENING):
            raise InputError(
                "this device may change the evening only; pair it again from a device that "
                "composes to let it do more"
            )
        if hasattr(message, "id") and not client.edits.take():
            raise InputError("this page sends more than 60 changes a second; slow down")

    def _accept(self, client: Client, number: int, file: str = "", version: int = 0) -> None:
        client.answer(write(told.Accepted(id=number, file=file, version=version)))

    async def _open(self, client: Client, message: asked.Open) -> None:
        hub = self._hub
        show = await hub.on_bench(hub.session.open, message.file)
        if client.file is not None:
            hub.live.leave(client)
        client.file = message.file
        await hub.tell_show(message.file, client)
        hub.live.look(client, show.number, 0)
        if (take := hub.live.take(show.number)) is not None:
            hub.tell_findings(take, client)

    async def _look(self, client: Client, message: asked.Look) -> None:
        show = self._hub.session.shows.get(message.file)
        if show is None or client.file != message.file:
            raise InputError("open the show before you look at it")
        if client.rights == "compose":
            show.looked_at = message.frame
        self._hub.live.look(client, show.number, message.frame)
        where = (show.number, message.frame, message.playing)
        self._hub.house_light.look(client.number, *where)

    async def _edit(self, client: Client, message: asked.MakeEdits) -> None:
        hub = self._hub
        words = (message.edits, message.version, message.label, message.gesture)
        async with self._told(message.file):
            show = await hub.on_bench(hub.session.change, message.file, *words)
        self._accept(client, message.id, message.file, show.document.version)
        await self._changed(message.file)

    async def _walk(self, client: Client, message: asked.Undo | asked.Redo | asked.Restore) -> None:
        hub = self._hub
        async with self._told(message.file):
            show = await hub.on_bench(hub.session.walk, message.file, message.type)
        self._accept(client, message.id, message.file, show.document.version)
        await self._changed(message.file)

    @contextlib.asynccontextmanager
    async def _told(self, name: str) -> AsyncIterator[None]:
        """Tell how a show stands, though an edit is refused: a look at the disk came before it."""
        try:
            yield
        except LumenmapError:
            await self._hub.tell_show(name)
            await self._hub.tell_news()
            raise

    async def _changed(self, name: str) -> None:
        await self._hub.tell_show(name)
        self._hub.save_soon(name)

    async def _light(self, client: Client, message: asked.LightHouse) -> None:
        await self._hub.light_house(client, message)
        self._accept(client, message.id)

    async def _allow(self, client: Client, message: asked.AllowFlashing) -> None:
        change = client.allowed.add if message.allow else client.allowed.discard
        change(message.file)
        show = self._hub.session.shows.get(message.file)
        if show is not None and (take := self._hub.live.take(show.number)) is not None:
            self._hub.tell_findings(take, client)

    async def _palette(self, client: Client, message: asked.CheckPalette) -> None:
        site = self._hub.session.ground.site
        if site is None:
            raise InputError("the house file can't be read yet; mend it first")
        palette = Palette(
            "colours",
            message.stops,
            space=message.space,
            hue=message.hue,
            cyclic=message.cyclic,
            steps=message.steps,
        )
        check = palette_check(palette, site.house.kind)
        client.answer(write(told.PaletteChecked(id=message.id, strip=strip(palette), check=check)))

    async def _invited(self, client: Client, message: asked.Invite) -> None:
        client.answer(write(self._invite(message)))

    async def _find(self, client: Client, message: asked.FindControllers) -> None:
        read_network(message.network)  # refused before anybody waits
        if self._finding.locked():
            raise InputError("controllers are being looked for already; wait until that is done")
        self._hub.spawn(self._found(client, message))  # the hand goes on meanwhile

    async def _found(self, client: Client, message: asked.FindControllers) -> None:
        async with self._finding:
            try:
                nodes = await asyncio.to_thread(find, message.network)
            except LumenmapError as error:
                client.answer(write(_refusal(message, error)))
                return
        client.answer(write(_controllers(message, nodes)))


def _controllers(message: asked.FindControllers, nodes: list[Node]) -> told.Controllers:
    found = [
        facts.Controller(address=n.address, name=n.name, to=f"artnet:{n.address}") for n in nodes
    ]
    said = (
        f"{len(found)} on {message.network} answered."
        if found
        else f"No controller on {message.network} answered. See that it is on and speaks "
        "Art-Net; one that speaks E1.31 alone doesn't answer, and your router's page lists it."
    )
    return told.Controllers(id=message.id, sentence=said, found=found)


def _refusal(message: ClientMessage | None, error: LumenmapError) -> told.Refused:
    """Return an error as the page shows it, next to the control that asked."""
    edits = message.edits if isinstance(message, asked.MakeEdits) else []
    made = told.Refused(
        id=getattr(message, "id", None),
        sentence=refusal(error) if isinstance(error, InputError) else sentence(str(error)),
        file=getattr(message, "file", None) or "",
        path=list(edits[0].path) if len(edits) == 1 else None,
    )
    if not isinstance(error, ConflictError):
        return made
    found = {
        "sentence": conflict(error, message.type if message is not None else "edit"),
        "path": list(error.path),
        "yours": error.yours,
        "theirs": error.theirs,
        "conflict": not error.gone,
    }
    return made.model_copy(update=found)
