"""The terminal as it was: no mouse reports, no second screen, its echo, however the screens end."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

OFF = (
    b"\x1b[?2004l\x1b[?7h"  # pasted text marked, wrapping
    b"\x1b[?1000l\x1b[?1003l\x1b[?1015l\x1b[?1006l\x1b[?1016l"  # the mouse
    b"\x1b[<u\x1b[?1004l\x1b[?1049l\x1b[?25h\x1b[0m"  # key reports, focus, second screen, cursor, colors
)
"""What the screens switch on, off again (xterm control sequences; the kitty keyboard protocol)."""


@contextmanager
def given_back() -> Iterator[None]:
    """What breaks off the screens, an exception or a signal, leaves them; the usual end does so by itself."""
    if sys.platform == "win32" or not os.isatty(0):
        yield
        return
    echo_again = _echo()
    try:
        yield
    except BaseException:
        with suppress(OSError):
            os.write(next((fd for fd in (2, 1, 0) if os.isatty(fd)), 0), OFF)
        echo_again()
        raise


def _echo() -> Callable[[], None]:
    """Sets the line discipline as it is now."""
    import termios

    before = termios.tcgetattr(0)

    def again() -> None:
        with suppress(termios.error):
            termios.tcsetattr(0, termios.TCSANOW, before)

    return again
