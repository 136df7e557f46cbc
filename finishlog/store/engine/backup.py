"""An atomic copy of a live log and its files."""

from __future__ import annotations

import os
from contextlib import closing
from pathlib import Path

from finishlog.errors import InputError, LogError
from finishlog.store.disk.attachments import Attachments, folder_of
from finishlog.store.disk.files import already_there, built_beside
from finishlog.store.engine import sqlite, upgrade

WHAT = "copy of the log"


def backup(where: Path, target: Path) -> None:
    """Copy a log, even while others write, and verify the copy.

    Raises LogError if the target or its folder of files exists. If a file of the log is
    missing or damaged, everything else is copied before LogError reports it.
    """
    with built_beside(target, WHAT) as part:
        if os.path.lexists(folder_of(target)):
            raise already_there(folder_of(target), WHAT)
        upgrade.copy_into(where, part)
        lost = _copy_files(Attachments(folder_of(where)), files_in(part), Attachments(folder_of(part)))
    if lost:
        raise copied_but(target, lost)


def files_in(log: Path) -> list[tuple[str, int]]:
    """Hash and size of every file a closed log names."""
    with closing(sqlite.open_still(log)) as raw:
        if raw.execute("SELECT 1 FROM sqlite_schema WHERE name = 'file'").fetchone() is None:
            return []
        return raw.execute("SELECT sha256, size FROM file ORDER BY sha256").fetchall()


def _copy_files(source: Attachments, files: list[tuple[str, int]], into: Attachments) -> list[str]:
    """Copy the files; returns those missing or changed."""
    lost = []
    for sha256, _ in files:
        try:
            kept = into.keep(source.path(sha256))
        except InputError:
            lost.append(sha256)
            continue
        if kept.sha256 != sha256:
            lost.append(sha256)
            into.path(kept.sha256).unlink()  # damaged: it is no longer what an entry names
    return lost


def copied_but(target: Path, lost: list[str]) -> LogError:
    """The failure of files that could not be copied, after all else was."""
    count = f"{len(lost)} of its files" if len(lost) > 1 else "one of its files"
    return LogError(
        f"The log is copied to {target}, but {count} could not be.",
        f"Missing or damaged beside the log: {', '.join(f'{each[:12]}…' for each in lost[:3])}.",
        "finishlog check lists them all; look in an older copy.",
    )
