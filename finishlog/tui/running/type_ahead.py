"""Keys typed ahead: each waits until what the key before it set off stands, so that none lands in another field.

Text for a field goes straight on. Any other key (Tab, Enter, a letter that opens something) closes the gate
until the screen is at rest and stands; what is typed meanwhile follows then, in order.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Awaitable, Callable
from time import monotonic
from typing import TYPE_CHECKING, Any

from textual.events import Key, Paste
from textual.widgets import Input

if TYPE_CHECKING:
    from textual.app import App
    from textual.events import Event

LOOK = 0.01
"""Seconds from one look to the next."""
LONGEST = 2.0
"""Seconds that a screen which stands may be busy before keys go on to it as they come."""
AT_ONCE = ("escape", "ctrl+q", "ctrl+c")
"""What must work while a screen is not there yet; what was typed before it is dropped."""


class TypeAhead:
    """`hand_on` gives an event to the screen as usual; `stands` says whether the screen shown takes keys yet."""

    def __init__(
        self, app: App[Any], hand_on: Callable[[Event], Awaitable[None]], stands: Callable[[], bool]
    ) -> None:
        self._app, self._hand_on, self._stands = app, hand_on, stands
        self._waiting: deque[Key | Paste] = deque()
        self._closed = False
        self._since = 0.0
        self._looks = 0

    @property
    def resting(self) -> bool:
        """Nothing waits for its turn; nor does anything once the program has left."""
        return not self._app.is_running or not (self._closed or self._waiting)

    def drop(self) -> None:
        """What was typed ahead was meant for a screen that does not come."""
        self._waiting.clear()

    async def take(self, event: Key | Paste) -> None:
        """Hand it on, or keep it until its turn."""
        if isinstance(event, Key) and event.key in AT_ONCE and not self._stands():
            self.drop()
            await self._hand_on(event)
        elif self._closed:
            self._waiting.append(event)
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
        self._app.set_timer(LOOK, self._look)

    async def _look(self) -> None:
        """Open again after two looks at rest, one after the other; hand on up to the next key that turns."""
        if not self._at_rest():
            self._looks = 0
        else:
            self._looks += 1
        if self._looks < 2:
            self._app.set_timer(LOOK, self._look)
            return
        self._closed = False
        while self._waiting and not self._closed:
            await self._give(self._waiting.popleft())

    def _at_rest(self) -> bool:
        if not self._stands():
            self._since = monotonic()
            return False
        return not self._busy() or monotonic() - self._since > LONGEST

    def _busy(self) -> bool:
        """Whether a message waits; the few that most often have one are asked before all are walked over."""
        screen = self._app.screen
        near = (self._app, screen, *([screen.focused] if screen.focused else []))
        if any(not pump._message_queue.empty() for pump in near):
            return True
        return any(not pump._message_queue.empty() for pump in screen.walk_children())
