"""Jobs by slab color: exact CIEDE2000 without scanning every reading.

ΔE00 is never below |ΔL*| / S_L, and S_L is at most 1 + 0.015 · 2500 / √2520 < 1.7471 (Sharma, Wu,
Dalal, Color Res. Appl. 30(1):21-30, 2005, S_L at mean L* 0 or 100). So the index on L* is read
outward from the wanted color, until nothing further out can be nearer than what was found.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from sqlalchemy.engine import Connection

from finishlog.color.notation.space import Lab, delta_e_2000
from finishlog.errors import InputError
from finishlog.records.log import JobLine
from finishlog.store.schema.rows import read
from finishlog.store.search import find
from finishlog.store.search.dialects import listed

LIGHTNESS_SHARE = 1.7471
_FIRST_WIDTH = 0.5
_WIDEST = 100.0
_AT_ONCE = 200
_RING = (
    "SELECT entry_id, lightness, a, b FROM reading "
    "WHERE lightness >= :low AND lightness < :high AND spot = 'base' ORDER BY lightness"
)
_STANDS = "{e}.withdrawn = 0 AND NOT EXISTS (SELECT 1 FROM entry l WHERE l.replaces_id = {e}.id)"
_OF_SLAB = (
    "NOT EXISTS (SELECT 1 FROM sample s JOIN entry m ON m.id = s.entry_id WHERE m.job_id = {e}.job_id "
    "AND s.number = {r}.sample AND s.load_id IS NULL AND " + _STANDS.format(e="m") + ")"
)
"""Excludes samples poured apart, whose color is not the job's."""
_JUDGED = (
    "SELECT r.entry_id, e.job_id FROM reading r JOIN entry e ON e.id = r.entry_id "
    "JOIN job j ON j.id = e.job_id "
    f"WHERE r.entry_id IN ({{ids}}) AND {_STANDS.format(e='e')} AND (:archived = 1 OR j.state <> 'archived') "
    f"AND {_OF_SLAB.format(r='r', e='e')} "
    "AND (r.damp = 0 AND r.sealed = 0 OR NOT EXISTS ("
    "SELECT 1 FROM entry o JOIN reading b ON b.entry_id = o.id WHERE o.job_id = e.job_id "
    f"AND b.spot = 'base' AND b.damp = 0 AND b.sealed = 0 AND {_STANDS.format(e='o')} "
    f"AND {_OF_SLAB.format(r='b', e='o')}))"
)


def near(
    connection: Connection, lab: Lab, limit: int | None, within: float | None, archived: bool
) -> tuple[JobLine, ...]:
    """Jobs by the smallest CIEDE2000 between `lab` and their readings of the base, nearest first.

    Uses dry, bare readings; others only if a job has none. `within` is the largest difference
    accepted.
    """
    if not (0 <= lab[0] <= 100 and math.isfinite(lab[1]) and math.isfinite(lab[2])):
        raise InputError("Not an L*a*b* color.", "L* is 0 to 100.", example="62, 5, 15")
    found = _nearest(connection, lab, limit, math.inf if within is None else within, archived)
    lines = find.lines_of(connection, list(found))
    return tuple(replace(lines[job], de00=difference) for job, difference in found.items())


def _nearest(
    connection: Connection, lab: Lab, limit: int | None, within: float, archived: bool
) -> dict[int, float]:
    """The difference by job, smallest first."""
    seen = _Seen(connection, lab, archived)
    inner, width = 0.0, _FIRST_WIDTH
    while True:
        seen.look(inner, width)
        best = seen.best(limit, within)
        full = limit is not None and len(best) >= limit
        worst = max(best.values(), default=0.0) if full else within
        needed = min(worst * LIGHTNESS_SHARE, _WIDEST)
        if needed <= width:
            return best
        inner, width = width, needed if limit is None else min(2 * width, needed)


class _Seen:
    """Readings seen so far, by difference; only the nearest are checked for whether they count."""

    def __init__(self, connection: Connection, lab: Lab, archived: bool) -> None:
        self._connection = connection
        self._lab = lab
        self._archived = archived
        self._entries: NDArray[np.int64] = np.empty(0, np.int64)
        self._differences: NDArray[np.float64] = np.empty(0)
        self._jobs: dict[int, int | None] = {}

    def look(self, inner: float, outer: float) -> None:
        """Add readings whose L* is at least `inner` and less than `outer` away."""
        middle = self._lab[0]
        spans = ((middle - outer, middle - inner), (middle + inner, middle + outer))
        for low, high in spans if inner else ((middle - outer, middle + outer),):
            self._add(low, math.inf if outer >= _WIDEST and high > middle else high)

    def _add(self, low: float, high: float) -> None:
        rows = read(self._connection, _RING, {"low": low, "high": high})
        if not rows:
            return
        table = np.array(rows, dtype=np.float64)
        differences = delta_e_2000(np.array(self._lab), table[:, 1:])
        self._entries = np.concatenate([self._entries, table[:, 0].astype(np.int64)])
        self._differences = np.concatenate([self._differences, differences])

    def best(self, limit: int | None, within: float) -> dict[int, float]:
        """The nearest jobs seen, nearest first."""
        found: dict[int, float] = {}
        for entry, difference in self._ascending():
            if difference > within or (limit is not None and len(found) >= limit):
                break
            job = self._jobs[entry]
            if job is not None:
                found.setdefault(job, difference)
        return found

    def _ascending(self) -> Iterator[tuple[int, float]]:
        """Entries by difference, each judged before it is yielded."""
        order = np.lexsort((self._entries, self._differences))
        for start in range(0, len(order), _AT_ONCE):
            portion = order[start : start + _AT_ONCE]
            entries: list[int] = self._entries[portion].tolist()
            self._judge([entry for entry in entries if entry not in self._jobs])
            yield from zip(entries, self._differences[portion].tolist(), strict=True)

    def _judge(self, entries: Collection[int]) -> None:
        """The job each reading counts for, or None."""
        if not entries:
            return
        self._jobs |= dict.fromkeys(entries)
        marks, given = listed("entry", entries)
        rows = read(self._connection, _JUDGED.format(ids=marks), {**given, "archived": int(self._archived)})
        self._jobs |= {row[0]: row[1] for row in rows}
