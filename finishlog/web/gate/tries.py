"""Wrong pass phrases are slowed: after a few, each next try has to wait twice as long."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock

from finishlog.errors import InputError

FREE = 4
FIRST_S, MOST_S = 1.0, 300.0
FORGET_S = 3600.0
HELD = 10_000
"""Sources remembered; beyond, the one that was longest quiet is forgotten."""


class TooMany(InputError):
    """Come again in `wait_s` seconds."""

    def __init__(self, wait_s: float) -> None:
        self.wait_s = wait_s
        super().__init__("Too many wrong tries.", f"Wait {max(round(wait_s), 1)} s, then try again.")


@dataclass(slots=True)
class _Wrong:
    count: int = 0
    last: float = 0.0


class Tries:
    """Counts wrong tries by name and by where they come from. Thread-safe; `now` never goes back."""

    def __init__(self, now: Callable[[], float]) -> None:
        self._now = now
        self._of: dict[tuple[str, str], _Wrong] = {}
        self._lock = Lock()

    def begin(self, name: str, source: str) -> None:
        """Count a try, as a wrong one until it was right: many at once are counted too. Raises TooMany, uncounted."""
        now, keys = self._now(), _keys(name, source)
        with self._lock:
            for key in keys:
                found = self._of.get(key)
                wait = 0.0 if found is None else found.last + _pause(found.count) - now
                if wait > 0:
                    raise TooMany(wait)
            for key in keys:
                found = self._of.pop(key, None) or _Wrong()
                self._of[key] = _Wrong(1 if now - found.last > FORGET_S else found.count + 1, now)
            while len(self._of) > HELD:
                self._of.pop(next(iter(self._of)))

    def was_right(self, name: str, source: str) -> None:
        """Forget what was wrong before."""
        with self._lock:
            for key in _keys(name, source):
                self._of.pop(key, None)


def _keys(name: str, source: str) -> list[tuple[str, str]]:
    named = [("name", name.strip().casefold())] if name.strip() else []
    return [*named, ("source", source)]


def _pause(wrong: int) -> float:
    return 0.0 if wrong < FREE else float(min(FIRST_S * 2.0 ** min(wrong - FREE, 20), MOST_S))
