"""All browsers of one open house: who is there, and what they are told."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import Callable, Coroutine, Iterable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import TypeVar

from lumenmap.controller.ways import Feed
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.desk import tell
from lumenmap.desk.client import Client
from lumenmap.desk.evenings.evening import Evening
from lumenmap.desk.light.house import HouseLight
from lumenmap.desk.light.live import Live
from lumenmap.desk.light.picture import Pictures
from lumenmap.desk.light.take import Take
from lumenmap.desk.news import News
from lumenmap.desk.session import Session
from lumenmap.desk.take_up import take_up
from lumenmap.desk.watch import Watch
from lumenmap.desk.wire import asked, facts, told
from lumenmap.desk.wire.stretch import write
from lumenmap.jobs.project import Project

R = TypeVar("R")
_LOG = logging.getLogger(__name__)

#: Browsers at once; more are turned away.
MOST_CLIENTS = 64
#: The status of the evening's program is read this often, and a full disk tried again (s).
_TICK = 2.0


class Hub:
    """An open house and its browsers; everything but `on_bench` runs on the event loop.

    Parameters
    ----------
    folder, effect_folders
        The folder, and those of effects that the user named.
    feed, interface
        Where the controllers are, to light the house.
    watched, made
        As for `Session`.
    """

    def __init__(
        self,
        folder: Path,
        effect_folders: tuple[Path, ...] = (),
        feed: Feed | None = None,
        interface: str = "",
        *,
        watched: str | None = None,
        made: Callable[[], Project] | None = None,
    ) -> None:
        self._loop: asyncio.AbstractEventLoop | None = None
        self._files = Watch([folder, *effect_folders])
        self.live = Live(self._found, self._failed)
        self.session = Session(
            folder, self.live, effect_folders=effect_folders, watched=watched, made=made
        )
        titles = partial(tell.titles, self.session)
        self.evening = Evening(self.session.folder, lambda: self.session.now(), titles)
        self.news = News(self.session, self.evening, self.on_bench)
        self.pictures = Pictures(self.live.rendering)
        self.house_light = HouseLight(feed, interface, folder, self.live, self._lit)
        self.clients: set[Client] = set()
        self._bench = ThreadPoolExecutor(1, thread_name_prefix="desk-bench")
        self._tasks: set[asyncio.Task[None]] = set()
        self._saving: set[str] = set()

    async def start(self) -> None:
        """Begin to render, and to watch the folder."""
        self._loop = asyncio.get_running_loop()
        self.live.start()
        self.spawn(self._watch())
        self.spawn(self._catch_up())  # its first step comes after that of the watch
        self.spawn(self._tick())

    async def stop(self) -> None:
        """Write what isn't written, and end."""
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        for name in self.session.shows:
            await self.on_bench(self.session.save, name)
        await asyncio.to_thread(self.house_light.stop)
        await asyncio.to_thread(self.live.stop)
        self._bench.shutdown()

    def spawn(self, work: Coroutine[None, None, None]) -> None:
        """Run something beside; its failure is logged, and ends nothing else."""
        task = asyncio.get_running_loop().create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._done)

    def _done(self, task: asyncio.Task[None]) -> None:
        self._tasks.discard(task)
        if not task.cancelled() and (error := task.exception()) is not None:
            _LOG.error("the desk continues without it", exc_info=error)

    async def on_bench(self, function: Callable[..., R], *words: object) -> R:
        """Return ``function(*words)``, worked out on the bench."""
        return await asyncio.get_running_loop().run_in_executor(self._bench, function, *words)

    # -- browsers ----------------------------------------------------------------------------

    async def join(self, client: Client) -> None:
        """Let a browser in, and tell it where things stand."""
        self.clients.add(client)
        await self.tell_session([client])
        await self.tell_rest(client)

    def leave(self, client: Client) -> None:
        """Forget a browser."""
        self.clients.discard(client)
        self.live.leave(client)
        self.house_light.let_go(client.number)

    async def tell_session(self, clients: Iterable[Client]) -> None:
        """Tell what the house is, and what each browser may do."""
        address = self.pictures.address(self.session.ground.site)
        made = await self.on_bench(tell.session_message, self.session, address)
        for client in clients:
            own = made.model_copy(update={"rights": client.rights, "local": client.local})
            client.tell("session", write(own))

    async def tell_rest(self, client: Client) -> None:
        """Tell a browser the shows, the evening, what is wrong, and who lights the house."""
        for what, text in (await self.news.all()).items():
            client.tell(what, text)
        client.tell("house_light", write(told.HouseLight(light=self.house_light.state)))

    async def tell_news(self) -> None:
        """Tell everybody the same, but only what has changed since it was told last."""
        await self.on_bench(self.session.close_gone, {c.file for c in self.clients})
        for what, text in (await self.news.new()).items():
            for client in self.clients:
                client.tell(what, text)
        for client in list(self.clients):
            await self.news.days(client)

    async def tell_show(self, name: str, only: Client | None = None) -> None:
        """Tell those who have a show open how it stands."""
        readers = [c for c in self.clients if c.file == name and only in (None, c)]
        if readers and name in self.session.shows:
            text = write(await self.on_bench(tell.show_message, self.session, name))
            for client in readers:
                client.tell(f"show {name}", text)

    def save_soon(self, name: str) -> None:
        """Have a show written when the bench comes to it."""
        if name not in self._saving:
            self._saving.add(name)
            self.spawn(self._save(name))

    async def _save(self, name: str) -> None:
        await asyncio.sleep(0)  # edits that came together are written together
        self._saving.discard(name)
        if await self.on_bench(self.session.save, name):
            await self.tell_show(name)
            await self.tell_news()

    # -- light -------------------------------------------------------------------------------

    def _found(self, take: Take) -> None:
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self.tell_findings, take)

    def tell_findings(self, take: Take, only: Client | None = None) -> None:
        """Tell those who look at a show what was found in it."""
        name = take.project.show.file.name
        if self.live.take(take.number) is not take:
            return
        for client in self.clients:
            if client.file == name and only in (None, client):
                found = take.findings(allowed=name in client.allowed)
                client.tell(f"findings {name}", write(found))

    def _failed(self, take: Take, why: str) -> None:
        def note() -> None:
            self.session.problems[take.project.show.file.name] = InputError(why, key="light")
            self.spawn(self.tell_news())

        if self._loop is not None:
            self._loop.call_soon_threadsafe(note)

    async def light_house(self, client: Client, message: asked.LightHouse) -> None:
        """Send what is under a hand to the controllers too, or stop that.

        Raises
        ------
        LumenmapError
            No show is open, or there is nowhere to send it to.
        """
        if not message.on:
            self.house_light.let_go(client.number)
            return
        show = await self.on_bench(self.session.open, message.file or client.file or "")
        agreed = show.document.path.name in client.allowed
        self.house_light.take(client.number, client.address, show.number, flashing=agreed)

    def _lit(self, light: facts.Light) -> None:
        def tell() -> None:
            for client in self.clients:
                client.tell("house_light", write(told.HouseLight(light=light)))

        if self._loop is not None:
            self._loop.call_soon_threadsafe(tell)

    # -- the disk ----------------------------------------------------------------------------

    async def _watch(self) -> None:
        async for paths in self._files.changes():
            with contextlib.suppress(LumenmapError):
                await self.disk_changed(paths)

    async def _catch_up(self) -> None:
        """Take up what was saved after the folder was read, and before it was watched."""
        with contextlib.suppress(LumenmapError):
            await self.news.new()  # so that only what has changed since is told
            await self.disk_changed(await self.on_bench(self._files.missed))

    async def disk_changed(self, paths: set[Path]) -> None:
        """Take up what an editor, or anything else, did to files."""
        names = {p.name for p in paths}
        house, changed = await self.on_bench(take_up, self.session, self.evening, names)
        if house:
            await self.tell_session(list(self.clients))
        for name in changed:
            await self.tell_show(name)
            self.save_soon(name)
        await self.tell_news()

    async def _tick(self) -> None:
        """Now and then: the evening's own status, midnight, a disk that has room again."""
        while True:
            await asyncio.sleep(_TICK)
            if self.clients:
                await self.tell_news()
            for name, show in self.session.shows.items():
                if not show.document.saved:
                    self.save_soon(name)
