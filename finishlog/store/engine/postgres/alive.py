"""Notices within seconds that the server is gone, also where nothing says so: a machine without power, a cut line.

A system that has sent something and hears nothing gives up by itself (TCP's own timers, which libpq sets). A server
that is there and stands still sends no sign: who has waited a while for its answer asks by another connection
whether it takes any.
"""

from __future__ import annotations

from collections.abc import Generator
from functools import lru_cache
from time import monotonic
from typing import Any

SILENT_S = 2.0
"""How long an answer may take before it is asked whether the server is there, again and again."""
_TIMERS = {
    "connect_timeout": 2,
    "tcp_user_timeout": 3500,
    "keepalives_idle": 2,
    "keepalives_interval": 1,
    "keepalives_count": 2,
}


def timers(psycopg: Any, url: str) -> dict[str, Any]:
    """What libpq is told of how long to wait for the other side, but for what the address says itself."""
    said = psycopg.conninfo.conninfo_to_dict(url)
    return {name: value for name, value in _TIMERS.items() if name not in said}


@lru_cache(maxsize=1)
def kind() -> Any:
    """The class of our connections."""
    import psycopg

    class Alive(psycopg.Connection[Any]):
        """A connection whose waiting for an answer ends when the server is gone."""

        asked = ""

        def wait(self, gen: Any, *args: Any, **how: Any) -> Any:
            return super().wait(self._watched(gen), *args, **how)

        def _watched(self, gen: Any) -> Generator[Any, Any, Any]:
            """The driver says at each tenth of a second that nothing came."""
            try:
                wanted, heard = next(gen), monotonic()
                while True:
                    ready = yield wanted
                    if ready:
                        heard = monotonic()
                    elif monotonic() - heard > SILENT_S:
                        self._look()
                        heard = monotonic()
                    wanted = gen.send(ready)
            except StopIteration as ended:
                return ended.value

        def _look(self) -> None:
            if self.asked and not answers(self.asked):
                self.pgconn.finish()
                raise psycopg.errors.ConnectionTimeout("the server does not answer")

    return Alive


def answers(url: str) -> bool:
    """Whether the server says anything, if only that it takes no more connections."""
    import psycopg

    try:
        psycopg.connect(url, **timers(psycopg, url)).close()
    except psycopg.OperationalError as error:
        return not isinstance(error, psycopg.errors.ConnectionTimeout)
    return True
