"""On a terminal hangup, or when asked to end, the app quits quietly, once every write is done."""

from __future__ import annotations

import asyncio
import os
import select
import signal
import sys
from collections.abc import Callable
from contextvars import copy_context
from threading import Thread
from time import sleep
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from textual.app import App

GRACE_S = 3.0
"""Seconds to quit in after the last write. Output stuck on its way to the terminal can block the loop."""
STEP_S = 0.1
STATUS = 129
"""Exit status after a hangup: 128 plus the signal's number."""


def watch(app: App[Any], leave: Callable[[], object], writing: Callable[[], bool]) -> None:
    """Quit when the terminal hangs up. Otherwise polling its closed end burns a core forever."""
    if sys.platform == "win32" or app.is_headless:
        return
    for number in (signal.SIGTERM, signal.SIGHUP):
        if signal.getsignal(number) != signal.SIG_IGN:
            asyncio.get_running_loop().add_signal_handler(number, leave)
    terminals = [fd for fd in (0, 1, 2) if os.isatty(fd) or _has_gone(fd)]
    if 0 not in terminals:
        return
    loop, context = asyncio.get_running_loop(), copy_context()

    def wait() -> None:
        if _hung_up(0):
            _let_go(terminals)
            loop.call_soon_threadsafe(leave, context=context)
            _end_after_grace(writing)

    Thread(target=wait, name="hangup", daemon=True).start()


def _hung_up(terminal: int) -> bool:
    """Block until the terminal hangs up; False if this cannot be told."""
    end = select.poll()
    end.register(terminal, 0)
    return any(event & select.POLLHUP for _, event in end.poll())


def _has_gone(terminal: int) -> bool:
    """Whether it hung up before the watch began: isatty is False by then."""
    end = select.poll()
    end.register(terminal, 0)
    return any(event & select.POLLHUP for _, event in end.poll(0))


def _let_go(terminals: list[int]) -> None:
    """Send further output to devnull, so it does not fail halfway."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for fd in terminals:
        os.dup2(nowhere, fd)
    os.close(nowhere)


def _end_after_grace(writing: Callable[[], bool]) -> None:
    left = GRACE_S
    while left > 0:
        sleep(STEP_S)
        left = GRACE_S if writing() else left - STEP_S
    os._exit(STATUS)
