"""What was chosen for another place: done once that place has read what it shows.

However long that takes, it is not given up: a key or a click ends it, and so does going elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from finishlog.tui.running.type_ahead import busy

if TYPE_CHECKING:
    from collections.abc import Awaitable

    from textual.app import App
    from textual.screen import Screen
    from textual.timer import Timer

LOOK = 0.05
"""Seconds between looks."""
Shown = Callable[[], "Screen[Any] | None"]


class Errand:
    """At most one at a time. `shown` is the full screen shown, `ready` whether it takes keys and has read all."""

    def __init__(self, app: App[Any], shown: Shown, ready: Callable[[], bool]) -> None:
        self._app, self._shown, self._ready = app, shown, ready
        self._timer: Timer | None = None

    @property
    def on(self) -> bool:
        """Whether something is still to be done."""
        return self._timer is not None

    def drop(self) -> None:
        """Forget it: the person does something else."""
        if self._timer is not None:
            self._timer.stop()
            self._timer = None

    def begin(self, place: Screen[Any], do: Callable[[], Awaitable[object]]) -> None:
        """Do it once the place is at rest at two looks in a row: at the first an answer may be on its way."""
        self.drop()
        rested = 0

        async def look() -> None:
            nonlocal rested
            if self._shown() is not place:
                self.drop()
                return
            rested = rested + 1 if self._at_rest(place) else 0
            if rested == 2:
                self.drop()
                await do()

        self._timer = self._app.set_interval(LOOK, look)

    def _at_rest(self, place: Screen[Any]) -> bool:
        return self._app.screen is place and self._ready() and not busy(self._app)
