"""Connections that cannot be held open for nothing: limits of time and number, below HTTP.

Who sends nothing, or a byte at a time, is cut; when there are too many, the one that has waited longest for its first
whole request makes room. Nobody is turned away because of those who wait.
"""

from __future__ import annotations

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEADERS_S = 10.0
"""From the first byte, or the connection, to the end of the headers."""
STILL_S = 30.0
"""Without a byte of a body, or without one of ours taken."""
GRACE_S, SLOWEST = 20.0, 500.0
"""A body comes at so many bytes a second at least, after so many seconds."""
LINGER_S, LINGER_MOST = 2.0, 64 << 20
"""What still comes in after the answer is thrown away for so long, and so many bytes, so that the answer is read."""
MOST = 160
"""Connections: 20 phones open six each."""
LOOK_S = 0.5


class TimedHttp(H11Protocol):
    """uvicorn's HTTP/1.1, with these limits."""

    _looks: asyncio.TimerHandle | None = None
    _began = _moved = _taken = 0.0
    _body_began: float | None = None
    _came = _answered_at = _unsent = 0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Makes room first, where there is none."""
        self._began = self._moved = self.loop.time()
        has_room = self._has_room()
        super().connection_made(transport)
        if has_room:
            self._look()
        else:
            transport.abort()

    def _has_room(self) -> bool:
        """Cuts the one that waits longest, where there is none."""
        there = [one for one in self.connections if not one.transport.is_closing()]
        waiting = [one for one in there if isinstance(one, TimedHttp) and not one.is_at_work]
        if len(there) >= MOST and waiting:
            min(waiting, key=lambda one: one._began).transport.abort()
        return len(there) < MOST or bool(waiting)

    @property
    def is_at_work(self) -> bool:
        """Whether a request came in whole, and is not yet answered."""
        return (
            self.cycle is not None
            and not self.cycle.response_complete
            and self.conn.their_state is not h11.SEND_BODY
        )

    @property
    def _is_asked(self) -> bool:
        return self.cycle is not None and not self.cycle.response_complete

    def data_received(self, data: bytes) -> None:
        """Notes when it came."""
        if self.transport.is_closing():
            return
        self._moved = self.loop.time()
        if not self._is_asked and self.timeout_keep_alive_task is not None:
            self._began = self._moved  # the first byte of a further request
        self._came += len(data)
        if self._lingers and self._came - self._answered_at > LINGER_MOST:
            self.transport.abort()
            return
        try:
            super().data_received(data)
        except h11.LocalProtocolError:  # nonsense in the middle of an answer: there is no answer to that
            self.transport.abort()

    def on_response_complete(self) -> None:
        """Who still sends is cut soon after the answer."""
        self._body_began = None
        self._began = self.loop.time()
        if self.conn.their_state is h11.SEND_BODY:
            self._answered_at = self._came
            self.loop.call_later(LINGER_S, self._cut_lingering, self.cycle)
        super().on_response_complete()

    def _cut_lingering(self, cycle: object) -> None:
        if self.cycle is cycle and self._lingers:
            self.transport.abort()

    @property
    def _lingers(self) -> bool:
        """Whether a body still comes in that was answered."""
        return (
            self.cycle is not None and self.cycle.response_complete and self.conn.their_state is h11.SEND_BODY
        )

    def handle_websocket_upgrade(self, event: h11.Request) -> None:
        """From here on another protocol has the connection."""
        self._stop_looking()
        super().handle_websocket_upgrade(event)

    def connection_lost(self, exc: Exception | None) -> None:
        """Looks no more."""
        self._stop_looking()
        super().connection_lost(exc)

    def _stop_looking(self) -> None:
        if self._looks is not None:
            self._looks.cancel()
            self._looks = None

    def _look(self) -> None:
        if self._is_too_slow():
            self.transport.abort()
            return
        self._looks = self.loop.call_later(LOOK_S, self._look)

    def _is_too_slow(self) -> bool:
        now, unsent = self.loop.time(), self.transport.get_write_buffer_size()
        if unsent != self._unsent:
            self._unsent, self._taken = unsent, now
        if unsent:
            return now - self._taken > STILL_S
        if not self._is_asked:
            return self.timeout_keep_alive_task is None and now - self._began > HEADERS_S
        return self.conn.their_state is h11.SEND_BODY and self._is_body_too_slow(now)

    def _is_body_too_slow(self, now: float) -> bool:
        if self._body_began is None:
            self._body_began, self._came = now, 0
        if self.flow.read_paused:  # it is we who do not read
            self._moved, self._body_began = now, self._body_began + LOOK_S
        due = (now - self._body_began - GRACE_S) * SLOWEST
        return now - self._moved > STILL_S or self._came < due


class Loop(asyncio.SelectorEventLoop):
    """The usual loop, but who connects and does not shake hands for TLS is cut as soon as who sends no headers."""

    async def create_server(self, *given: Any, **more: Any) -> asyncio.Server:
        """The usual server."""
        if more.get("ssl"):
            more["ssl_handshake_timeout"] = HEADERS_S
        return await super().create_server(*given, **more)
