"""The server itself: one process, on one address, until it is told to stop."""

from __future__ import annotations

import os
import socket
import sys
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from finishlog.errors import LogError
from finishlog.web.gate.book import BookFile
from finishlog.web.gate.people import People
from finishlog.web.gate.place import Place
from finishlog.web.gate.tries import Tries
from finishlog.web.gate.visits import Visits

if TYPE_CHECKING:
    from collections.abc import Callable

    from finishlog.desk.services import Services

LISTENS_S = 3.0
"""A browser that shows the screens is asked so often, and given so long: within 10 s of leaving they are closed."""
TURN_S = 0.0005
"""A thread that works gives way so soon: a page is several turns, and waits for each while a photo is read."""


def people(services: Services) -> People:
    """Who may come in to the log of these services."""
    from finishlog import paths

    path = paths.data_folder() / "people" / f"{services.log().identity()}.json"
    return People(BookFile(path), Tries(time.monotonic), time.time)


def serve(
    services: Services, place: Place, ready: Callable[[Place], None], *, crew_sees_phones: bool = False
) -> None:
    """Serve until a signal; `ready` is told the place once phones can come. Raises InputError, LogError."""
    import uvicorn

    from finishlog import paths
    from finishlog.web.app import make
    from finishlog.web.gate.proxy import Proxied
    from finishlog.web.site import Site

    place.check()
    listening = _listen(place)
    place = replace(place, port=listening.getsockname()[1])
    visits = Visits(paths.state_folder() / "visits.log", services.now)
    site = Site(services, people(services), visits, place.is_secure, crew_sees_phones)
    app = make(site, place.origins)
    config = uvicorn.Config(
        Proxied(app, place.proxy, visits.refused) if place.proxy else app,
        http="finishlog.web.gate.connections:TimedHttp", loop="finishlog.web.gate.connections:Loop",
        log_level="error" if os.environ.get("FINISHLOG_TRACEBACK") else "critical", access_log=False,
        server_header=False, proxy_headers=False, timeout_keep_alive=20, timeout_graceful_shutdown=3,
        ws_ping_interval=LISTENS_S, ws_ping_timeout=LISTENS_S, ws_max_size=64 * 1024,
        ssl_certfile=place.cert, ssl_keyfile=place.key,
    )  # fmt: skip
    server = _Telling(config, lambda: ready(place))
    sys.setswitchinterval(TURN_S)
    try:
        server.run(sockets=[listening])
    finally:
        site.close()


def _listen(place: Place) -> socket.socket:
    family = socket.AF_INET6 if ":" in place.host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)  # else each answer is held back
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((place.host, place.port))
    except (OSError, UnicodeError) as error:
        listening.close()
        raise LogError(
            f"Cannot serve at {place.host}, port {place.port}.", f"{getattr(error, 'strerror', None) or error}.",
            "Try another --host or --port.",
        ) from None  # fmt: skip
    return listening


def _Telling(config: object, ready: Callable[[], None]):  # type: ignore[no-untyped-def]
    import uvicorn

    class Telling(uvicorn.Server):
        """Says when it listens; a signal is the way to end it, and no failure."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:
                ready()

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            await super().shutdown(sockets)
            self._captured_signals.clear()  # it would be raised again

    return Telling(config)  # type: ignore[arg-type]
