"""What is refused before any page is asked, by Host, Origin and size; and the headers of each answer."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

SAFE = ("GET", "HEAD")
METHODS = (*SAFE, "POST")
BODY_MOST = 64 * 1024
"""Bytes of a form; a photo's route has its own."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
    "font-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; "
    "base-uri 'none'"
)
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # with less, a form's Origin would be null
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
}
_SECURE = {"strict-transport-security": "max-age=31536000"}
Tell = Callable[[str, "Scope"], None]


class Guard:
    """ASGI middleware around the whole site. `origins` are ours, as `https://host:port`."""

    def __init__(
        self, app: ASGIApp, *, origins: Collection[str], body_most: Callable[[str], int], tell: Tell,
        secure: bool = False,
    ) -> None:  # fmt: skip
        self._app = app
        self._headers = {**_HEADERS, **_SECURE} if secure else _HEADERS
        self._origins = frozenset(origins)
        self._hosts = frozenset(origin.partition("://")[2] for origin in origins)
        self._body_most = body_most
        self._tell = tell

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        wrong = self._wrong(scope)
        if wrong is not None:
            status, why = wrong
            self._tell(why, scope)
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
                return
            close = {"connection": "close"}  # what follows on it may be meant to be taken for a request
            await PlainTextResponse(f"{why}\n", status, close)(scope, receive, self._dressed(send))
            return
        await self._app(scope, self._limited(scope, receive), self._dressed(send))

    def _wrong(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        if _is_nonsense(scope, headers):
            return 400, "That is no request of a browser."
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return 421, "This address is not ours."
        origin = headers.get("origin")
        if origin is None and _is_change(scope):
            return 403, "The form does not say where it comes from."
        if origin is not None and origin.lower() not in self._origins:
            return 403, "The form came from another site."
        if headers.get("sec-fetch-site", "none") not in ("same-origin", "none") and _is_change(scope):
            return 403, "The form came from another site."
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit()) or int(length) > self._body_most(scope["path"]):
            return 413, "That is too large."
        return None

    def _limited(self, scope: Scope, receive: Receive) -> Receive:
        """The body, cut where it grows past what the path may take."""
        if scope["type"] != "http":
            return receive
        most, read = self._body_most(scope["path"]), 0

        async def counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > most:
                self._tell("That is too large.", scope)
                raise TooLarge
            return message

        return counted

    def _dressed(self, send: Send) -> Send:
        async def dress(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in self._headers.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        return dress


class TooLarge(Exception):
    """The body grew past what its path may take."""


def _is_change(scope: Scope) -> bool:
    """A web socket can change things too, and a browser says for it where it comes from."""
    return scope["type"] == "websocket" or scope["method"] not in SAFE


def _is_nonsense(scope: Scope, headers: Headers) -> bool:
    """A whole address or a NUL for a path, a body of two lengths, a method that no form has."""
    path, query = scope["path"], scope["query_string"].lower()
    two_lengths = "transfer-encoding" in headers and "content-length" in headers
    odd = not path.startswith("/") or "\0" in path or b"%00" in query or two_lengths
    return odd or (scope["type"] == "http" and scope["method"] not in METHODS)
