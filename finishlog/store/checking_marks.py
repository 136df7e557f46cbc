"""Holds a log against what this machine has seen written there: is anything acknowledged missing?"""

from __future__ import annotations

from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.store.disk.marks import Mark, Marks
from finishlog.store.sealing import rows
from finishlog.store.sealing.keep import State, state

_SHOWN = 20
ACCEPT = "If you restored an older copy on purpose, accept it once: finishlog check --accept."
_CHAINED = "SELECT entry_id, hash FROM chain WHERE entry_id BETWEEN :first AND :last"


class Seen:
    """The marks of a log, read before the snapshot that they are held against."""

    def __init__(self, marks: Marks, uid: str, *, accept: bool = False) -> None:
        self.uid = uid
        self._marks = marks
        self._accept = accept
        self._own = marks.of(uid)
        self._others = marks.elsewhere(uid)

    def missing(self, connection: Connection, problems: list[str]) -> list[str]:
        """Lines on acknowledged entries that the log does not have, or has otherwise; [] when accepted.

        Without those that the problems found in the log itself tell of already.
        """
        now = _state(connection)
        if now is None or self._own is None:
            return []
        if self._accept:
            self._marks.add(self.uid, now.line() | {"accepted": True})
            return []
        lost = [said for said in _lost(connection, self._own) if not _told(said, problems)]
        behind = now.writes < self._own.writes
        if not lost and not behind:
            return []
        return [
            _headline(self._own, now, len(lost)),
            *(f"Missing: {said.rstrip(',')}." for said in lost[:_SHOWN]),
            ACCEPT,
        ]

    def notes(self, connection: Connection) -> list[str]:
        """Copies of this log on this machine that were written further."""
        now = _state(connection)
        ahead = [mark for mark in self._others if now is not None and mark.writes > now.writes]
        return [
            f"The copy of this log at {mark.where} is newer: "
            f"it had {mark.entries} entries, this one has {now.entries}."
            for mark in ahead
            if now is not None
        ]

    def sound(self, connection: Connection) -> None:
        """A sound log that has no mark here gets one."""
        now = _state(connection)
        if self._own is None and now is not None:
            self._marks.add(self.uid, now.line())


def _state(connection: Connection) -> State | None:
    try:
        return state(connection)
    except (DBAPIError, UnicodeDecodeError, IndexError):
        return None  # the log's own row is damaged: told already


def _told(said: str, problems: list[str]) -> bool:
    return any(line.startswith(said) for line in problems)


def _lost(connection: Connection, mark: Mark) -> list[str]:
    """Entries of the mark that the log does not have as they were acknowledged, in words."""
    told = dict(mark.told)
    if mark.entry:
        told.setdefault((mark.entry, mark.head), f"The last of {mark.entries} entries")
    if not told:
        return []
    ids = [entry for entry, _ in told]
    found = rows.read(connection, _CHAINED, first=min(ids), last=max(ids))
    held = {row[0]: row[1] for row in found}
    return [said for (entry, head), said in sorted(told.items()) if held.get(entry) != head]


def _headline(mark: Mark, now: State, lost: int) -> str:
    count = max(lost, mark.entries - now.entries)
    if not count:
        return "The log is older than it was: saved changes are missing, but no entries."
    many = f"{count} saved entries are" if count > 1 else "A saved entry is"
    return f"{many} missing: an older copy was restored, or the last writes were lost."
