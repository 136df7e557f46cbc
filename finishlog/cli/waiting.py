"""The terminal during a long job: it says what is running and takes no keys until done."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NoReturn


@contextmanager
def waiting(words: str) -> Iterator[None]:
    """Show the words while the block runs. Keys are neither echoed nor kept.

    The terminal gets its keys back however the block ends; only `kill -9` cannot be caught.
    """
    print(words, end="", flush=True)
    give_back = _hushed(sys.stdin.fileno())
    try:
        with signals_unwind():
            yield
    finally:
        give_back()
        print("\r" + " " * len(words) + "\r", end="", flush=True)


def _hushed(terminal: int) -> Callable[[], None]:
    """Turn off echo; the returned function turns it back on and drops what was typed meanwhile."""
    try:
        import termios
    except ImportError:  # Windows shows no key before somebody reads it
        return lambda: None
    before = termios.tcgetattr(terminal)
    hushed: list[Any] = [*before]
    hushed[3] &= ~(termios.ECHO | termios.ICANON)
    termios.tcsetattr(terminal, termios.TCSAFLUSH, hushed)
    return lambda: termios.tcsetattr(terminal, termios.TCSAFLUSH, before)


@contextmanager
def signals_unwind() -> Iterator[None]:
    """SIGTERM and SIGHUP exit through every `finally`, with their usual status."""
    named = (getattr(signal, name, None) for name in ("SIGTERM", "SIGHUP"))
    caught = [number for number in named if number and signal.getsignal(number) is signal.SIG_DFL]
    for number in caught:
        signal.signal(number, _leave)
    try:
        yield
    finally:
        for number in caught:
            signal.signal(number, signal.SIG_DFL)


def _leave(number: int, _frame: object) -> NoReturn:
    raise SystemExit(128 + number)
