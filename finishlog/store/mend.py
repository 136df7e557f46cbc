"""What `check --mend` does: takes away what was left behind, and makes the list and the search anew.

Nothing is removed of a log with any other problem: what its entries name must be known for certain. Nor
is anything that was written in the last hour: another program may be about to name it.
"""

from __future__ import annotations

import shutil
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import Connection

from finishlog.store.disk.attachments import Files
from finishlog.store.disk.leavings import leavings
from finishlog.store.sealing import rows, verify
from finishlog.store.sealing.keep import seal
from finishlog.store.search import dialects, learned, projections, shelved

YOUNG_S = 3600.0
"""What is younger may belong to a program that is still writing."""


@dataclass(frozen=True, slots=True)
class Mendable:
    """What there is to mend: files and folders left behind, those too young to tell, jobs and lots to be made anew."""

    leavings: tuple[Path, ...]
    young: tuple[Path, ...]
    jobs: tuple[int, ...]
    lots: tuple[int, ...] = ()
    learned: tuple[int, ...] = ()
    """Rows of what was learned that are damaged: they go, and are learned anew when next needed."""


def mendable(connection: Connection, files: Files, where: Path | None) -> Mendable:
    """What there is to mend of a log that has no other problem; `where` is its file, if it is in one."""
    known = {row[0] for row in rows.read(connection, "SELECT sha256 FROM file")}
    now = time.time()
    found = [*files.strays(known), *(() if where is None else leavings(where))]
    young = tuple(path for path in found if now - _changed(path, now) < YOUNG_S)
    old = tuple(path for path in found if path not in young)
    return Mendable(old, young, *_out_of_date(connection), learned.damaged(connection))


def _changed(path: Path, now: float) -> float:
    try:
        return path.lstat().st_mtime
    except OSError:
        return now


def _out_of_date(connection: Connection) -> tuple[tuple[int, ...], tuple[int, ...]]:
    found = verify.Verified([], set())
    verify.lists(connection, found)
    with suppress(KeyError, ValueError, TypeError):
        found.jobs |= set(projections.differing(connection))
        found.lots |= shelved.differing(connection)
    return tuple(sorted(found.jobs)), tuple(sorted(found.lots))


def mend(connection: Connection, found: Mendable, files: Files) -> int:
    """Make the projections anew and remove the leavings, holding the write lock. Returns how many were removed."""
    if found.jobs or found.lots:
        dialects.texts(connection).forget(connection, found.jobs)
        projections.refresh(connection, found.jobs)
        shelved.write_ids(connection, found.lots)
        seal(connection, found.jobs, found.lots)
    learned.forget(connection, found.learned)
    known = {row[0] for row in rows.read(connection, "SELECT sha256 FROM file")}
    removed = 0
    for path in found.leavings:
        if path.name not in known:
            removed += _remove(path, files.folder)
    return removed


def _remove(path: Path, folder: Path) -> int:
    try:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()
    except OSError:
        return 0
    with suppress(OSError):
        if folder in path.parents:
            path.parent.rmdir()  # stays where another file lies in it
    return 1
