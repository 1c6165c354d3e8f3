"""The desk's routes: the page, pairing, the picture, the socket."""

from __future__ import annotations

import asyncio
import hashlib
import json
from collections.abc import Iterable
from http.cookies import CookieError, SimpleCookie
from importlib import resources
from importlib.resources.abc import Traversable

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import ClientDisconnect, HTTPConnection, Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp
from starlette.websockets import WebSocket, WebSocketDisconnect

from lumenmap.core.errors import InputError
from lumenmap.desk.answer import Answers
from lumenmap.desk.client import Client
from lumenmap.desk.describe.sentence import sentence
from lumenmap.desk.guard import Guard
from lumenmap.desk.hub import MOST_CLIENTS, Hub
from lumenmap.desk.pairing import PAIRED_SECONDS, Device, Pairing, RefusedError
from lumenmap.desk.photos import PATIENCE, BusyError, Photos
from lumenmap.desk.wire import told
from lumenmap.desk.wire.stretch import write
from lumenmap.pictures.scripts import DRAWING

#: What is served of the page's folder, by ending.
_KINDS = {".html": "text/html", ".js": "text/javascript", ".css": "text/css"}
#: Answers of fewer bytes aren't compressed: it would hardly make them shorter.
_SHORT = 1000
#: A level beyond this takes longer than it saves at the eave's Wi-Fi (zlib's own default).
_EFFORT = 6
_FULL = "So many browsers are looking at this desk that it can't take another."


class Server:
    """The desk as a web application.

    Parameters
    ----------
    hosts
        The names that it is served under, with the port.
    secure
        Whether it has a certificate.
    """

    def __init__(
        self,
        hub: Hub,
        pairing: Pairing,
        answers: Answers,
        hosts: Iterable[str],
        *,
        secure: bool = False,
    ) -> None:
        self._hub, self._pairing, self._answers = hub, pairing, answers
        self._secure = secure
        self._files, self._photos = page_files(), Photos()
        hosts = tuple(hosts)
        # Cookies don't know of ports: two desks on one machine need two names.
        self._cookie = f"lumenmap-desk-{hosts[0].rsplit(':', 1)[-1]}"
        routes = [
            Route("/", self._page),
            Route("/page/{name}", self._file),
            Route("/open", self._opened),
            Route("/pair", self._paired, methods=["POST"]),
            Route("/picture/{key}", self._picture),
            Route("/photo", self._photo, methods=["POST"]),
            WebSocketRoute("/socket", self._socket),
        ]
        small = Middleware(GZipMiddleware, minimum_size=_SHORT, compresslevel=_EFFORT)
        self.app: ASGIApp = Guard(
            Starlette(routes=routes, middleware=[small]), hosts, secure=secure
        )

    def _device(self, connection: HTTPConnection) -> Device | None:
        # Starlette reads cookies leniently; two of one name must not be a way round.
        found: list[str] = []
        for header in connection.headers.getlist("cookie"):
            try:
                read = SimpleCookie(header)
            except CookieError:
                return None
            found += [read[self._cookie].value] if self._cookie in read else []
        return self._pairing.device(found[0]) if len(found) == 1 else None

    async def _page(self, request: Request) -> Response:
        if self._device(request) is None:
            return self._served("pair.html", 401)
        desk = self._hub.session.watched is None
        return self._served("index.html" if desk else "watch.html", 200)

    async def _file(self, request: Request) -> Response:
        """Return a file of the page, unless the browser has it as it is (RFC 9110, 13.1.2)."""
        answer = self._served(request.path_params["name"], 200)
        if answer.status_code != 200:
            return answer
        # Weak: the same file may be compressed or not.
        tag = f'W/"{hashlib.sha256(bytes(answer.body)).hexdigest()[:24]}"'
        headers = {"ETag": tag, "Cache-Control": "private, no-cache"}  # kept, but asked for
        if tag in request.headers.get("if-none-match", ""):
            return Response(status_code=304, headers=headers)
        answer.headers.update(headers)
        return answer

    def _served(self, name: str, status: int) -> Response:
        found = self._files.get(name)
        if found is None:
            return PlainTextResponse("There is no such file.\n", 404)
        kind, file = found
        return Response(file.read_bytes(), status, media_type=f"{kind}; charset=utf-8")

    async def _opened(self, request: Request) -> Response:
        if self._device(request):  # a bookmark, or the browser's own history
            return RedirectResponse("/", 303)
        try:
            cookie = self._pairing.by_token(request.query_params.get("token", "")[:200])
        except RefusedError as error:
            return PlainTextResponse(f"{error.message}\n", 403)
        return self._let_in(cookie, RedirectResponse("/", 303))

    async def _paired(self, request: Request) -> Response:
        try:
            given = json.loads(await request.body())
            code = given["code"] if isinstance(given, dict) else None
            if not isinstance(code, str) or len(code) > 20:
                raise RefusedError("Expected the six digits of the code.")
            cookie = self._pairing.by_code(code)
        except (ValueError, KeyError, RecursionError) as error:
            said = error.message if isinstance(error, RefusedError) else "Expected a code."
            return PlainTextResponse(f"{said}\n", 403)
        return self._let_in(cookie, Response(status_code=204))

    def _let_in(self, cookie: str, response: Response) -> Response:
        response.set_cookie(
            self._cookie,
            cookie,
            max_age=PAIRED_SECONDS,
            httponly=True,
            samesite="strict",
            secure=self._secure,
        )
        return response

    async def _picture(self, request: Request) -> Response:
        if self._device(request) is None:
            return PlainTextResponse("This browser isn't paired with the desk.\n", 401)
        key = request.path_params["key"]
        data = await asyncio.to_thread(self._hub.pictures.data, key)
        if data is None:
            return PlainTextResponse("There is no such picture. Load the page again.\n", 404)
        # The key names the content, so a browser may keep it.
        headers = {"Cache-Control": "private, max-age=31536000, immutable"}
        return Response(data, media_type="application/json", headers=headers)

    async def _photo(self, request: Request) -> Response:
        device = self._device(request)
        if device is None:
            return PlainTextResponse("This browser isn't paired with the desk.\n", 401)
        if device.rights != "compose":
            return PlainTextResponse("This device may change the evening only.\n", 403)
        count = request.query_params.get("count", "6")
        try:
            async with asyncio.timeout(PATIENCE):
                data = await request.body()
            number = int(count) if count.isascii() and count.isdigit() and len(count) < 4 else 6
            return JSONResponse({"colours": await self._photos.colours(data, number)})
        except BusyError as error:
            return PlainTextResponse(f"{error.message}\n", 429)
        except ClientDisconnect:
            return Response(status_code=400)  # nobody reads it
        except TimeoutError:
            return PlainTextResponse("The photo took too long to come. Try again.\n", 408)
        except InputError as error:
            return PlainTextResponse(f"{sentence(error.message)}\n", 422)

    async def _socket(self, socket: WebSocket) -> None:
        device = self._device(socket)
        if device is None:
            await socket.close(4401, "This browser isn't paired with the desk.")
            return
        await socket.accept()
        if len(self._hub.clients) >= MOST_CLIENTS:
            await socket.send_text(write(told.Farewell(sentence=_FULL)))
            await socket.close(1013, _FULL)
            return
        client = Client(socket, device.rights, local=device.local, room=self._hub.live.wake)
        sending = asyncio.ensure_future(client.send_all())
        why = ""
        try:
            await self._hub.join(client)
            while not why:
                message = await socket.receive()
                if message["type"] == "websocket.disconnect" or sending.done():
                    break
                text = message.get("text") or message.get("bytes") or ""
                why = await self._answers.take(client, text)
        except WebSocketDisconnect:
            pass
        finally:
            self._hub.leave(client)
            sending.cancel()
            await asyncio.gather(sending, return_exceptions=True)
        if why:
            await socket.send_text(write(told.Farewell(sentence=why)))
            await socket.close(1008, why)


def page_files() -> dict[str, tuple[str, Traversable]]:
    """Return the page's files: kind and file by name."""
    found: dict[str, tuple[str, Traversable]] = {}
    page = resources.files("lumenmap.desk") / "page"
    pictures = resources.files("lumenmap.pictures")
    drawing = (pictures / name for name in DRAWING)
    rooms = (page, page / "panels", page / "evenings")
    for file in (*(f for room in rooms for f in room.iterdir()), *drawing):
        kind = _KINDS.get("." + file.name.rsplit(".", 1)[-1])
        if kind is not None and file.is_file():
            found[file.name] = kind, file
    return found
