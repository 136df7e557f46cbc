"""The terminal during a long job: it says what is running and takes no keys until done."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, NoReturn


@contextmanager
def waiting(words: str) -> Iterator[None]:
    """Show the words while the block runs. Keys are neither echoed nor kept.

    The terminal gets its keys back however the block ends; only `kill -9` cannot be caught.
    """
    with signals_unwind():
        print(words, end="", flush=True)
        try:
            with hushed(sys.stdin.fileno()):
                yield
        finally:
            print("\r" + " " * len(words) + "\r", end="", flush=True)


@contextmanager
def hushed(terminal: int) -> Iterator[None]:
    """No echo while the block runs; what was typed meanwhile is dropped."""
    try:
        import termios
    except ImportError:  # Windows shows no key before somebody reads it
        yield
        return
    before = termios.tcgetattr(terminal)
    without: list[Any] = [*before]
    without[3] &= ~(termios.ECHO | termios.ICANON)
    try:  # a signal may come as soon as there is no echo
        termios.tcsetattr(terminal, termios.TCSAFLUSH, without)
        yield
    finally:
        termios.tcsetattr(terminal, termios.TCSAFLUSH, before)


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
