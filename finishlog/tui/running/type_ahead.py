"""Type-ahead: a key waits until the last one has taken effect, so none lands in the wrong field.

Text for a field passes. Any other key (Tab, Enter, a letter that opens something) closes the gate until the
screen is ready and idle; keys typed meanwhile follow in order.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Awaitable, Callable
from time import monotonic
from typing import TYPE_CHECKING, Any

from textual.events import Key, Paste
from textual.widgets import Input

from finishlog.tui.running.timers import once

if TYPE_CHECKING:
    from textual.app import App
    from textual.events import Event

LOOK = 0.01
"""Seconds between checks."""
LONGEST = 2.0
"""Seconds a ready screen may stay busy before keys pass anyway."""
AT_ONCE = ("escape", "ctrl+q", "ctrl+c")
"""Keys that work before the screen is ready; they drop what was typed ahead."""


class TypeAhead:
    """`hand_on` passes an event to the screen; `stands` tells whether the screen takes keys yet, `owes` whether
    something chosen for it is still to be done."""

    def __init__(
        self, app: App[Any], hand_on: Callable[[Event], Awaitable[None]], stands: Callable[[], bool],
        owes: Callable[[], bool],
    ) -> None:  # fmt: skip
        self._app, self._hand_on, self._stands, self._owes = app, hand_on, stands, owes
        self._waiting: deque[Key | Paste] = deque()
        self._closed = False
        self._since = 0.0
        self._looks = 0

    @property
    def resting(self) -> bool:
        """Whether no key waits; always so once the app has quit."""
        return not self._app.is_running or not (self._closed or self._waiting)

    def drop(self) -> None:
        """Forget keys typed ahead for a screen that will not come."""
        self._waiting.clear()

    async def take(self, event: Key | Paste) -> None:
        """Pass the event on, or queue it."""
        if isinstance(event, Key) and event.key in AT_ONCE and (self._owes() or not self._stands()):
            self.drop()
            await self._hand_on(event)
        elif self._closed or self._owes():
            self._waiting.append(event)
            if not self._closed:
                self._close()
        else:
            await self._give(event)

    async def _give(self, event: Key | Paste) -> None:
        stands = self._stands()
        if not (stands and self._is_text(event)):
            self._close()
        if stands:
            await self._hand_on(event)
        else:
            self._waiting.appendleft(event)

    def _is_text(self, event: Key | Paste) -> bool:
        return isinstance(self._app.focused, Input) and (isinstance(event, Paste) or event.is_printable)

    def _close(self) -> None:
        self._closed, self._since, self._looks = True, monotonic(), 0
        once(self._app, LOOK, self._look)

    async def _look(self) -> None:
        """Open after two idle checks in a row; pass keys up to the next one that closes the gate."""
        if not self._at_rest():
            self._looks = 0
        else:
            self._looks += 1
        if self._looks < 2:
            once(self._app, LOOK, self._look)
            return
        self._closed = False
        while self._waiting and not self._closed:
            await self._give(self._waiting.popleft())

    def _at_rest(self) -> bool:
        if not self._stands():
            self._since = monotonic()
            return False
        return not (self._owes() or busy(self._app)) or monotonic() - self._since > LONGEST


def busy(app: App[Any]) -> bool:
    """Whether any message is queued; the likeliest queues are checked first."""
    screen = app.screen
    near = (app, screen, *([screen.focused] if screen.focused else []))
    if any(not pump._message_queue.empty() for pump in near):
        return True
    return any(not pump._message_queue.empty() for pump in screen.walk_children())
