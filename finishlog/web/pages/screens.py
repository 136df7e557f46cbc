"""The screens in a browser, for owner and office: our page around them, and the web socket they are painted over."""

from __future__ import annotations

import asyncio
import json
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from finishlog import roles
from finishlog.web import nav
from finishlog.web.gate.people import Visitor
from finishlog.web.screens.process import Opened, within
from finishlog.web.site import Site, signed_in

if TYPE_CHECKING:
    from collections.abc import Mapping

MOST = 4
"""Visitors at once: each holds a process of some 150 MB."""
LOOK_S = 3.0
"""How often it is asked whether the visitor is still signed in."""
LONGEST = 64 * 1024
"""Characters of one message."""
FULL, REFUSED = 4001, 4003
_FILES: Mapping[str, str] = {
    "textual.js": "js/textual.js",
    "xterm.css": "css/xterm.css",
    "mono.ttf": "fonts/RobotoMono-VariableFont_wght.ttf",
    "mono-italic.ttf": "fonts/RobotoMono-Italic-VariableFont_wght.ttf",
}


class Open(set[Opened]):
    """Who has the screens open."""


async def page(request: Request, site: Site, visitor: Visitor) -> Response:
    """The page around the screens."""
    if not roles.may(visitor.role, nav.SCREENS):
        raise HTTPException(403, f"Only {roles.who_may(nav.SCREENS)} may open the screens.")
    scheme = "wss" if site.secure else "ws"
    return site.page("screens.html", visitor, socket=f"{scheme}://{request.headers['host']}/screens/socket")


async def file(request: Request) -> Response:
    """A file of the package that paints them."""
    import textual_serve

    name = _FILES.get(request.path_params["name"])
    if name is None:
        raise HTTPException(404, "Nothing is here.")
    return FileResponse(Path(textual_serve.__file__).parent / "static" / name)


async def socket(ws: WebSocket) -> None:
    """One visitor's screens, from coming to leaving."""
    site: Site = ws.app.state.site
    source = ws.client.host if ws.client else "-"
    visitor = await site.visitor(ws)
    if visitor is None or not roles.may(visitor.role, nav.SCREENS):
        site.visits.note("refused: the screens", source, visitor.name if visitor else "")
        await ws.close(REFUSED)
        return
    await ws.accept()  # a browser is told why only over an open socket
    visitors = site.own(Open)
    if len(visitors) >= MOST:
        site.visits.note("refused: the screens, too many at once", source, visitor.name)
        await ws.close(FULL, "Too many at once.")
        return
    site.visits.note("opened the screens", source, visitor.name)
    opened = Opened(("--log", log_of(site)), visitor.role, ws.send_bytes, ws.close)
    visitors.add(opened)
    try:
        await opened.start(_number(ws, "width", 80), _number(ws, "height", 24))
        await _until_left(ws, opened, site)
    finally:
        # shielded: a server that is told to stop must not leave them behind
        await asyncio.shield(opened.stop())
        visitors.discard(opened)
        site.visits.note("left the screens", source, visitor.name)


def log_of(site: Site) -> str:
    """The log's path or address, as a program of its own is told it."""
    assert site.services.where is not None
    return str(site.services.where())


async def _until_left(ws: WebSocket, opened: Opened, site: Site) -> None:
    """Until the browser goes, the screens close or the visitor is signed out."""
    assert opened._task is not None
    waits = {
        asyncio.create_task(_heard(ws, opened)),
        asyncio.create_task(_signed_out(ws, site)),
        opened._task,
    }
    _, going = await asyncio.wait(waits, return_when=asyncio.FIRST_COMPLETED)
    for task in going - {opened._task}:
        task.cancel()
    with suppress(RuntimeError, WebSocketDisconnect):
        await ws.close()


async def _heard(ws: WebSocket, opened: Opened) -> None:
    with suppress(WebSocketDisconnect, ValueError, KeyError, TypeError):
        while True:
            text = await ws.receive_text()
            if len(text) > LONGEST:
                return
            await _pass_on(ws, opened, *json.loads(text))


async def _pass_on(ws: WebSocket, opened: Opened, kind: str, given: Any = None) -> None:
    if kind == "stdin":
        await opened.send_bytes(str(given).encode())
    elif kind == "resize":
        await opened.set_terminal_size(*within(int(given["width"]), int(given["height"])))
    elif kind == "ping":
        await ws.send_text(json.dumps(["pong", str(given)[:40]]))
    elif kind in ("focus", "blur"):
        await opened.send_meta({"type": kind})


async def _signed_out(ws: WebSocket, site: Site) -> None:
    while await site.visitor(ws) is not None:
        await asyncio.sleep(LOOK_S)


def _number(ws: WebSocket, name: str, default: int) -> int:
    text = ws.query_params.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 5 else default


ROUTES = (
    Route("/screens", signed_in(page), methods=["GET"]),
    Route("/screens/{name}", file, methods=["GET"]),
    WebSocketRoute("/screens/socket", socket),
)
