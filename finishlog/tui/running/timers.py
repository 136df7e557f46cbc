"""Timers that go off once."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.message_pump import MessagePump
    from textual.timer import Timer


def once(pump: MessagePump, seconds: float, call: Callable[[], object]) -> Timer:
    """Call after a delay, whatever happens. Textual's own timer skips what it is late for: on a machine busy enough it
    is late before it begins to wait, and a timer that goes off once then never does."""
    timer = pump.set_timer(seconds, call)
    timer._skip = False
    return timer
