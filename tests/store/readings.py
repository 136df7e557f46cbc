"""A log with many readings, quickly: rows are written past the desks, names are invented."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import insert

from finishlog.color.notation.space import delta_e_2000
from finishlog.store import Log
from finishlog.store.schema.rows import table
from finishlog.store.schema.tables import CustomerRow, JobRow, SiteRow
from finishlog.store.schema.tables_entry import EntryRow, ReadingRow
from finishlog.store.schema.tables_view import JobLineRow

NOW = datetime(2026, 6, 16, 12, tzinfo=UTC)
SPOTS = ("base",) * 8 + ("release color", "field")


def build(path: Path, jobs: int, each: int, *, seed: int = 1) -> Log:
    """A log of so many jobs with so many readings each: damp, sealed, replaced, withdrawn ones too."""
    chance = random.Random(seed)
    counter = itertools.count()
    log = Log.create(path, clock=lambda: NOW, new_uid=lambda: f"x{next(counter)}")
    entries, readings = [], []
    for entry, reading in _entries(chance, jobs, each):
        entries.append(entry)
        readings += [reading] if reading else []
    with log._connection(write=True) as connection:
        for row, values in (*_heads(jobs), (EntryRow, entries), (ReadingRow, readings)):
            connection.execute(insert(table(row)), values)
    return log


def _heads(jobs: int) -> Iterator[tuple[type, list[dict[str, Any]]]]:
    named = {"uid": "c1", "name": "Puddlecombe", "name_key": "puddlecombe"}
    yield CustomerRow, [named]
    yield SiteRow, [{"uid": "s1", "street": "1 Owl Hollow", "street_key": "1 owl hollow", "zone": "UTC"}]
    job = {"name": "patio", "name_key": "patio", "customer_id": 1, "site_id": 1, "logged": NOW}
    states = ["archived" if number % 17 == 0 else "poured" for number in range(1, jobs + 1)]
    yield JobRow, [{**job, "uid": f"j{n}", "handle": f"job-{n}", "state": s} for n, s in enumerate(states, 1)]
    line = {"name": "patio", "customer": "Puddlecombe", "street": "1 Owl Hollow", "sort_on": NOW.date()}
    yield (
        JobLineRow,
        [{**line, "job_id": n, "handle": f"job-{n}", "state": s} for n, s in enumerate(states, 1)],
    )


def _entries(chance: random.Random, jobs: int, each: int) -> Iterator[tuple[dict[str, Any], Any]]:
    entry = 0
    for job in range(1, jobs + 1):
        middle = [chance.gauss(*by) for by in ((58, 8), (7, 3), (14, 5))]
        veiled = chance.random() < 0.1  # a job without any dry, bare reading
        for number in range(1, each + 1):
            entry += 1
            again = entry - 1 if number > 1 and number % 5 == 0 else None
            gone = again is not None and chance.random() < 0.3
            values = {"uid": f"e{entry}", "job_id": job, "number": number, "kind": "reading", "facts": {}}
            times = {"happened": NOW, "logged": NOW, "exactness": "exact"}
            yield (
                {**values, **times, "id": entry, "replaces_id": again, "withdrawn": gone},
                None if gone else _reading(chance, entry, middle, veiled),
            )


def _reading(chance: random.Random, entry: int, middle: list[float], veiled: bool) -> dict[str, Any]:
    lightness, a, b = (each + chance.gauss(0, 1.5) for each in middle)
    return {
        "entry_id": entry,
        "lightness": min(100.0, max(0.0, round(lightness, 2))),
        "a": round(a, 2),
        "b": round(b, 2),
        "spot": chance.choice(SPOTS),
        "damp": veiled or chance.random() < 0.2,
        "sealed": chance.random() < 0.2,
        "source": "by hand",
    }


class Scan:
    """What the answer is, by looking at every reading: no index, no window."""

    def __init__(self, log: Log) -> None:
        query = (
            "SELECT e.job_id, r.lightness, r.a, r.b, r.damp OR r.sealed FROM reading r "
            "JOIN entry e ON e.id = r.entry_id JOIN job j ON j.id = e.job_id "
            "WHERE r.spot = 'base' AND e.withdrawn = 0 AND j.state <> 'archived' "
            "AND e.id NOT IN (SELECT replaces_id FROM entry WHERE replaces_id IS NOT NULL)"
        )
        with log._connection(write=False) as connection:
            rows = connection.exec_driver_sql(query).fetchall()
        bare = {row[0] for row in rows if not row[4]}
        kept = [row for row in rows if not row[4] or row[0] not in bare]
        self._jobs = np.array([row[0] for row in kept])
        self._labs = np.array([row[1:4] for row in kept])

    def nearest(self, lab: tuple[float, float, float]) -> list[tuple[float, str]]:
        """Difference and handle of every job, smallest first."""
        differences = delta_e_2000(np.array(lab), self._labs)
        order = np.argsort(differences, kind="stable")
        _, first = np.unique(self._jobs[order], return_index=True)
        chosen = order[np.sort(first)]
        return [
            (difference, f"job-{job}")
            for difference, job in zip(differences[chosen].tolist(), self._jobs[chosen].tolist(), strict=True)
        ]
