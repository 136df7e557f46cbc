"""A log on a server as a log file: its backup, and a copy to work on."""

from __future__ import annotations

import os
from pathlib import Path

from finishlog.store.disk.attachments import folder_of
from finishlog.store.disk.files import already_there, built_beside
from finishlog.store.engine import backup as sqlites
from finishlog.store.engine.in_sqlite import Sqlite
from finishlog.store.engine.moving import Moved, move
from finishlog.store.engine.protocol import Engine


def backup(engine: Engine, target: Path) -> None:
    """As `backup.backup`: the file that a backup of a log file is, with the same entries and files."""
    with built_beside(target, sqlites.WHAT) as part:
        if os.path.lexists(folder_of(target)):
            raise already_there(folder_of(target), sqlites.WHAT)
        missing = copy_into(engine, part, files=True).missing
    if missing:
        raise sqlites.copied_but(target, list(missing))


def copy_into(engine: Engine, part: Path, *, files: bool = False) -> Moved:
    """Fill an empty file with the log, and compare the two; files that are lost are only named."""
    into = Sqlite(part)
    with into.failures():
        into.make()
    return move(engine, into, files=files, without_missing=True)
