"""A copy of a log each day it changed, in a folder of its own, thinned as it ages; a file stands there once.

A copy is `2026-06-16.finishlog` with its files in the one folder that all copies share: it opens as any log does.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection
from contextlib import closing, suppress
from datetime import date, timedelta
from pathlib import Path

from finishlog.errors import InputError, LogError
from finishlog.store.disk.attachments import Attachments, folder_of
from finishlog.store.disk.files import built_beside, cannot_be_made
from finishlog.store.engine import opening
from finishlog.store.engine.backup import files_in
from finishlog.store.engine.wal import wal_of

SUFFIX = ".finishlog"
FILES = "files"
_GAP = timedelta(days=366)
ROOM = 5
"""A copy is made only where the disk could hold so many."""


def keep(log: Path, folder: Path, today: date) -> Path | None:
    """Make today's copy, and thin the older ones; None if there is one, or nothing changed since the last.

    The log may be written meanwhile. Killed, it leaves what the next call sweeps. Raises LogError.
    """
    target, last = folder / f"{today.isoformat()}{SUFFIX}", newest(folder)
    changed = _changed(log)
    if target.exists() or (last is not None and folder.joinpath(_name(last)).stat().st_mtime_ns == changed):
        return None
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        _require_room(log, folder)
    except OSError as error:
        raise cannot_be_made(target, "daily copy", error) from None
    with built_beside(target, "daily copy") as part:
        with closing(opening.at(log)) as engine:
            engine.copy_into(part)
        _share(Attachments(folder_of(log)), part, folder / FILES)
        _lead_to(folder / FILES, Path(f"{target}.files"))
    os.utime(target, ns=(changed, changed))
    _thin(folder, today)
    return target


def newest(folder: Path) -> date | None:
    """The day of the last copy."""
    return max(_days(folder), default=None)


def every(folder: Path) -> list[tuple[date, Path]]:
    """The copies there are, with their days."""
    return [(day, folder / _name(day)) for day in _days(folder)]


def kept(days: Collection[date], today: date) -> set[date]:
    """Which copies stay: each of the last 7 days, then the last of each of 4 weeks and of each of 12 months.

    Those on the other side of a gap of over a year are thinned among themselves: a clock that is years ahead
    for a day takes none away.
    """
    stays = {today}
    run: list[date] = []
    for day in sorted({*days, today}):
        if run and day - run[-1] > _GAP:
            stays |= _thinned(run)
            run = []
        run.append(day)
    return (stays | _thinned(run)) & set(days)


def _thinned(run: list[date]) -> set[date]:
    last = run[-1]
    weeks = {day.isocalendar()[:2]: day for day in run}
    months = {(day.year, day.month): day for day in run}
    first = last - timedelta(weeks=4)
    oldest = last.year * 12 + last.month - 12
    return {
        *(day for day in run if (last - day).days < 7),
        *(day for day in weeks.values() if day >= first - timedelta(days=first.weekday())),
        *(day for (year, month), day in months.items() if year * 12 + month >= oldest),
    }


def _changed(log: Path) -> int:
    """When the log's file or its write-ahead log was last written, in nanoseconds."""
    times = []
    for path in (log, wal_of(log)):
        with suppress(OSError):
            times.append(path.stat().st_mtime_ns)
    return max(times, default=0)


def _name(day: date) -> str:
    return f"{day.isoformat()}{SUFFIX}"


def _days(folder: Path) -> list[date]:
    found = []
    for path in folder.glob(f"????-??-??{SUFFIX}"):
        with suppress(ValueError):
            found.append(date.fromisoformat(path.name.removesuffix(SUFFIX)))
    return found


def _require_room(log: Path, folder: Path) -> None:
    if shutil.disk_usage(folder).free < ROOM * log.stat().st_size:
        raise LogError(
            f"No daily copy: the disk is too full: {folder}.",
            "",
            "Free some space, or back up elsewhere.",
        )


def _share(source: Attachments, part: Path, folder: Path) -> None:
    """Every file of the copy stands in the shared folder: another name of the same bytes where the disk can."""
    shared = Attachments(folder)
    for sha256, size in files_in(part):
        there, here = source.path(sha256), shared.path(sha256)
        with suppress(OSError):
            if here.stat().st_size == size:
                continue
        here.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        try:
            os.link(there, here)
        except OSError:
            with suppress(InputError):  # missing or damaged: the copy's check says which
                shared.keep(there)


def _lead_to(shared: Path, name: Path) -> None:
    """The folder of one copy's files is the shared one."""
    if not shared.is_dir() or os.path.lexists(name):
        return
    try:
        os.symlink(shared.name, name, target_is_directory=True)
    except OSError:  # no such links here: every name of its own
        shutil.copytree(shared, name, copy_function=os.link)


def _thin(folder: Path, today: date) -> None:
    days = _days(folder)
    for day in set(days) - kept(days, today):
        path = folder / _name(day)
        with suppress(OSError):
            path.unlink()
            files = Path(f"{path}.files")
            files.unlink() if files.is_symlink() else shutil.rmtree(files, ignore_errors=True)
