"""Screens in a browser end with the server that started them: left alone they would go on and grow."""

from __future__ import annotations

import os
import time
from threading import Thread

LOOK_S = 1.0


def end_with(parent: str) -> None:
    """End this process once that one is not its parent any more. "": nobody's child."""
    if parent:
        Thread(target=_watch, args=(int(parent),), name="parent", daemon=True).start()


def _watch(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(LOOK_S)
    os._exit(0)  # nobody is there to see it close; what was written is in the log
