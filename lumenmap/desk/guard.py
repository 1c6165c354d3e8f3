"""What every request has to pass, before anything else looks at it.

A page of another site can make a browser send requests to this machine, and a name of another site
can be made to lead here. So the host must be one that is served, and whatever changes something,
and every socket, must come from a page of that very host.
"""

from __future__ import annotations

from collections.abc import Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lumenmap.desk.photos import KINDS, MOST_BYTES, kinds_in_words

#: The page's own scripts and styles, and nothing from anywhere else (CSP Level 3, W3C).
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
#: The most that a request's body may have (bytes), and what it is; for some paths something else.
BODY = 1000
_JSON = (BODY, frozenset(("application/json",)), "Expected JSON.")
_OTHERS = {"/photo": (MOST_BYTES, KINDS, kinds_in_words())}


class Guard:
    """Lets through what comes from our own page, by a name that is served.

    Parameters
    ----------
    hosts
        Host and port as browsers send them: ``127.0.0.1:8240``.
    secure
        Whether the desk has a certificate, so that addresses begin with https.
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str], *, secure: bool) -> None:
        self._app = app
        self._hosts = frozenset(h.lower() for h in hosts)
        self._scheme = "https" if secure else "http"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse a request, or let it through and add the headers that every answer has."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        why = self._refusal(scope)
        if why:
            status, text = why
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008, "reason": text})
                return
            await PlainTextResponse(text + "\n", status, HEADERS)(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        await self._app(scope, receive, with_headers)

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return 421, "The desk isn't served under this name. Use the address that it printed."
        changing = scope["type"] == "websocket" or scope["method"] not in ("GET", "HEAD")
        origins = headers.getlist("origin")
        own = [f"{self._scheme}://{hosts[0].lower()}"]
        if (changing or origins) and [o.lower() for o in origins] != own:
            return 403, "This request comes from another page than the desk's own."
        # A link to the desk may stand anywhere, in a message to the family, say.
        link = not changing and headers.get("sec-fetch-mode") == "navigate"
        if not link and headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return 403, "This request comes from another page than the desk's own."
        if scope["type"] == "http" and changing:
            most, kinds, expected = _OTHERS.get(scope["path"], _JSON)
            # None of these kinds can be sent by another page without asking first (Fetch, CORS).
            if headers.get("content-type", "").split(";")[0].strip().lower() not in kinds:
                return 415, expected
            length = headers.get("content-length", "")
            if not (length.isascii() and length.isdigit()) or int(length) > most:
                return 413, f"Expected at most {most} bytes, and their number."
        return None
