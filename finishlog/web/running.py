"""The server itself: one process, on one address, until it is told to stop."""

from __future__ import annotations

import ipaddress
import socket
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.errors import InputError, LogError
from finishlog.web.gate.book import BookFile
from finishlog.web.gate.people import People
from finishlog.web.gate.tries import Tries
from finishlog.web.gate.visits import Visits

if TYPE_CHECKING:
    from collections.abc import Callable

    from finishlog.desk.services import Services

PORT = 8021
LOOPBACK = "127.0.0.1"
LISTENS_S = 3.0
"""A browser that shows the screens is asked so often, and given so long: within 10 s of leaving they are closed."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where it is served: an address and a port of this machine, and what phones call it by."""

    host: str = LOOPBACK
    port: int = PORT
    cert: Path | None = None
    key: Path | None = None
    insecure_lan: bool = False

    @property
    def scheme(self) -> str:
        """`https` with a certificate."""
        return "https" if self.cert else "http"

    @property
    def origin(self) -> str:
        """As a phone types it."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{self.scheme}://{host}:{self.port}"

    @property
    def origins(self) -> tuple[str, ...]:
        """All ways to call it."""
        if not is_loopback(self.host):
            return (self.origin,)
        names = (LOOPBACK, "localhost", "[::1]")
        return tuple(f"{self.scheme}://{name}:{self.port}" for name in names)

    def check(self) -> None:
        """Raises InputError for a place that others could listen in on."""
        if not (is_loopback(self.host) or self.cert or self.insecure_lan):
            raise InputError(
                "Another address than this machine's own needs TLS.",
                "Give --cert and --key, or --insecure-lan, and all on that network can read along.",
                where="--host",
            )


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches the address."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def people(services: Services) -> People:
    """Who may come in to the log of these services."""
    from finishlog import paths

    path = paths.data_folder() / "people" / f"{services.log().identity()}.json"
    return People(BookFile(path), Tries(time.monotonic), time.time)


def serve(services: Services, place: Place, ready: Callable[[], None]) -> None:
    """Serve until a signal; `ready` is called once phones can come. Raises InputError, LogError."""
    import uvicorn

    from finishlog import paths
    from finishlog.web.app import make
    from finishlog.web.site import Site

    place.check()
    listening = _listen(place)
    visits = Visits(paths.state_folder() / "visits.log", services.now)
    site = Site(services, people(services), visits, secure=place.scheme == "https")
    config = uvicorn.Config(
        make(site, place.origins), log_level="warning", access_log=False, server_header=False,
        proxy_headers=False, timeout_keep_alive=20, timeout_graceful_shutdown=5,
        ws_ping_interval=LISTENS_S, ws_ping_timeout=LISTENS_S, ws_max_size=64 * 1024,
        ssl_certfile=place.cert, ssl_keyfile=place.key,
    )  # fmt: skip
    server = _Telling(config, ready)
    server.run(sockets=[listening])


def _listen(place: Place) -> socket.socket:
    family = socket.AF_INET6 if ":" in place.host else socket.AF_INET
    listening = socket.socket(family)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((place.host, place.port))
    except OSError as error:
        listening.close()
        raise LogError(
            f"Cannot serve at {place.origin}.", f"{error.strerror or error}.", "Try another --port."
        ) from None
    return listening


def _Telling(config: object, ready: Callable[[], None]):  # type: ignore[no-untyped-def]
    import uvicorn

    class Telling(uvicorn.Server):
        """Says when it listens."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:
                ready()

    return Telling(config)  # type: ignore[arg-type]
