"""The daily copy of the log, how old the last good copy is, and where a log had better not lie.

The copies lie in the program's own data folder: no sync client carries them about, and they stay where the
log's folder is thrown away. A copy on another disk is still what `backup` is for.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog import paths
from finishlog.errors import LogError

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store.engine.postgres.address import Address

OLD_DAYS = 7
BACKED_UP = "backed-up"
MOST = 10
"""Backups of which it is remembered where they were made."""
TOLD = "told"


def folder(log: Path | Address) -> Path:
    """Where the copies of a log are; of one on a server, where it is remembered where they were made."""
    where = os.path.realpath(log) if isinstance(log, Path) else str(log)
    mark = hashlib.sha256(os.fsencode(where)).hexdigest()[:10]
    return paths.data_folder() / "copies" / f"{Path(where).stem[:40]}-{mark}"


def daily(services: Services) -> Path | None:
    """Make the daily copy if the log changed since the last one. Raises LogError."""
    from finishlog.store.archive import copies

    log = services.log().file
    return copies.keep(log, folder(log), services.today())


def backed_up(services: Services, name: str) -> None:
    """Remember that the log was backed up today, and where; not being able to is no failure of the backup."""
    where = folder(services.log().where) / BACKED_UP
    with suppress(OSError):
        where.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        lines = [f"{day} {path}" for day, path in _backups(where.parent)][1 - MOST :]
        lines.append(f"{services.today().isoformat()} {os.path.abspath(name)}")
        where.write_bytes(os.fsencode("\0".join(lines)))


def last(services: Services) -> date | None:
    """The day of the last good copy: the day's own, or a backup."""
    from finishlog.store.archive import copies

    home = folder(services.log().where)
    days = [copies.newest(home), *(day for day, _ in _backups(home))]
    return max((day for day in days if day), default=None)


def _backups(home: Path) -> list[tuple[date, Path]]:
    """The days of the last backups, and where they were made."""
    found = []
    with suppress(OSError, ValueError):
        for line in os.fsdecode((home / BACKED_UP).read_bytes()).split("\0"):
            day, _, name = line.partition(" ")
            found.append((date.fromisoformat(day), Path(name)))
    return found


def known(log: Path | Address) -> list[tuple[date, Path]]:
    """The copies of the log at this path that are still where they were made, the newest first. Opens nothing."""
    from finishlog.store.archive import copies

    home = folder(log)
    return sorted({*copies.every(home), *(one for one in _backups(home) if one[1].is_file())}, reverse=True)


def said(services: Services) -> str:
    """How old the last good copy is, if that is more than a week; else nothing."""
    found, today = last(services), services.today()
    if found is None:
        return "No copy of this log yet: finishlog backup FILE."
    age = (today - found).days
    return f"The last copy is {age} days old: finishlog backup FILE." if age > OLD_DAYS else ""


def at_opening(services: Services, *, copy: bool) -> str:
    """Make the daily copy where that is wanted; what there is to say about copies and the log's place, else nothing."""
    if not services.has_log() or services.log().is_on_server:
        return ""
    told: list[str] = []
    try:
        if copy:
            daily(services)
        told.append(said(services))
        told.append(_once(services, remark(services)))
    except LogError as failure:
        told.append(failure.title)
    except OSError as failure:
        told.append(f"No daily copy: {failure.strerror or failure}.")
    return " ".join(each for each in told if each)


def remark(services: Services) -> str:
    """That the log had better lie elsewhere, and what to do; else nothing."""
    from finishlog.store.disk import surroundings

    return "" if services.log().is_on_server else surroundings.remark(services.log().file)


def _once(services: Services, remark: str) -> str:
    """A remark that this machine has not heard yet."""
    where = folder(services.log().file) / TOLD
    with suppress(OSError):
        if remark and where.read_text(encoding="utf-8") == remark:
            return ""
    with suppress(OSError):
        if remark:
            where.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            where.write_text(remark, encoding="utf-8")
    return remark
