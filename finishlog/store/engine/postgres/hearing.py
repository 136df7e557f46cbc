"""Hears of other programs' writes by LISTEN, on a connection of its own, and notices when the server is away."""

from __future__ import annotations

import select
from collections.abc import Callable
from contextlib import suppress
from threading import Lock
from time import monotonic
from typing import Any

from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import Address

ANSWERS_S = 2
"""Seconds in which a server that is there answers: with the time between questions, its absence shows within five."""


class Hearing:
    """Thread-safe. `is_foreign` tells others' notices from this program's."""

    def __init__(self, where: Address, is_foreign: Callable[[str], bool]) -> None:
        self._where, self._is_foreign = where, is_foreign
        self._lock = Lock()
        self._raw: Any = None
        self._begun = self._closed = self._news = False

    def news(self) -> bool:
        """Whether another program committed since the last call; after a break there may be news. Raises ServerAway."""
        with self._lock:
            if self._closed:
                return False
            try:
                self._listen()
                self._hear()
            except (server.library().Error, OSError) as error:
                self._drop()
                raise server.away(self._where, error) from error
            found, self._news = self._news, False
            return found

    def close(self) -> None:
        """Safe to call twice."""
        with self._lock:
            self._closed = True
            self._drop()

    def _listen(self) -> None:
        if self._raw is None:
            connect = server.library().connect
            self._raw = connect(
                self._where.url, autocommit=True, connect_timeout=ANSWERS_S, application_name="finishlog"
            )
            self._ask(f"LISTEN {server.CHANNEL}")
            self._news, self._begun = self._begun, True

    def _drop(self) -> None:
        raw, self._raw = self._raw, None
        if raw is not None:
            with suppress(Exception):
                raw.close()

    def _hear(self) -> None:
        self._ask("SELECT 1")
        while (said := self._raw.pgconn.notifies()) is not None:
            self._news |= self._is_foreign(said.extra.decode())

    def _ask(self, what: str) -> None:
        """Wait for an answer, and take in what came meanwhile. A server that is held up answers nothing at all: the
        driver's own call would wait for it for ever."""
        wire, until = self._raw.pgconn, monotonic() + ANSWERS_S
        wire.send_query(what.encode())
        while wire.flush() or wire.is_busy():
            left = until - monotonic()
            if left <= 0 or not select.select([wire.socket], [], [], left)[0]:
                raise TimeoutError("it does not answer")
            wire.consume_input()
        while (answer := wire.get_result()) is not None:
            if answer.error_message:
                raise OSError(answer.error_message.decode(errors="replace").strip())
