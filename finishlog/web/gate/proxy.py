"""A proxy before the site, where the settings name one: where a request comes from, it alone may say."""

from __future__ import annotations

import ipaddress
from collections.abc import Callable
from typing import TYPE_CHECKING

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send


class Proxied:
    """ASGI middleware around the guard. Only the proxy may ask, and only for what came to it by https."""

    def __init__(self, app: ASGIApp, proxy: str, tell: Callable[[str, Scope], None]) -> None:
        self._app = app
        self._proxy = ipaddress.ip_address(proxy)
        self._tell = tell

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        why = self._wrong(scope, headers)
        if why is None:
            source = _last(headers, "x-forwarded-for")
            client = (source, 0) if _is_address(source) else scope["client"]
            await self._app({**scope, "client": client}, receive, send)
            return
        self._tell(why, scope)
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        await PlainTextResponse(f"{why}\n", 403)(scope, receive, send)

    def _wrong(self, scope: Scope, headers: Headers) -> str | None:
        client = scope.get("client")
        if client is None or ipaddress.ip_address(client[0]) != self._proxy:
            return "This is for the proxy to ask."
        if _last(headers, "x-forwarded-proto") != "https":
            return "The proxy does not say that this came by https."
        return None


def _last(headers: Headers, name: str) -> str:
    """What the proxy itself said: it stands last, whatever a phone sent before it."""
    return ",".join(headers.getlist(name)).rpartition(",")[2].strip()


def _is_address(text: str) -> bool:
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return True
