"""A whole log copied to another place: from file to server, server to file, or within either."""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import closing
from datetime import datetime
from pathlib import Path
from time import strftime

from finishlog.store.disk.attachments import folder_of
from finishlog.store.engine import header, moving, opening, restoring
from finishlog.store.engine.moving import Moved, Progress
from finishlog.store.engine.postgres.address import Address, place
from finishlog.store.engine.protocol import Engine
from finishlog.store.engine.restoring import PutBack
from finishlog.store.log import Log
from finishlog.store.rights.roles import remake


def copy_to(
    log: Log, where: str | Path | Address, *, progress: Progress | None = None, without_missing: bool = False
) -> Moved:
    """The same log, with its files, at a new path or address, compared with this one; others may write meanwhile.

    It gets its name last of all. Raises LogError if there is something of that name, or the log lacks files.
    """
    target = place(where)
    try:
        with opening.new(target, remake, with_files=True) as empty:
            with empty.failures():
                empty.make()
            return moving.move(log._engine, empty, progress=progress, without_missing=without_missing)
    except UnicodeDecodeError:
        raise header.damaged(log.where, "Texts in it are noise.") from None


def put_back(
    copy: Path, where: Address, *, without_missing: bool = False, named: Path | None = None
) -> PutBack:
    """Verify a copy and put it in the place of a log on a server, which is kept beside it. Raises LogError.

    `named` is what the user named it by. Killed at any moment, the old log or the new one is there, whole.
    """
    from finishlog.store.engine.postgres import in_postgres, making

    restoring.require_copy(copy, named or copy)
    there = making.has_log(where)
    old = opening.at(where)
    if there:
        old.require()
        making.refuse_users(where)
    before = f"finishlog_before_{strftime('%Y%m%d_%H%M%S')}"
    with (
        tempfile.TemporaryDirectory(prefix="finishlog-") as folder,
        closing(_opened(copy, Path(folder))) as log,
        in_postgres.new(where, remake, before=before) as empty,
    ):
        with empty.failures():
            empty.make()
        moved = _moved(log, old if there else None, empty, without_missing, named or copy)
    with closing(Log.open(where, clock=datetime.now, new_uid=str)) as log:
        log.accept()
    kept = f"schema {before} of its database" if there else None
    return PutBack(where, kept, moved.files, len(moved.missing))


def _opened(copy: Path, folder: Path) -> Log:
    """The copy's log, copied once more and upgraded where it is older; its files are where they are."""
    log = folder / "log.finishlog"
    restoring.copy_out(copy, log)
    if folder_of(copy).is_dir():
        try:
            os.symlink(folder_of(copy), folder_of(log), target_is_directory=True)
        except OSError:  # no such links here
            shutil.copytree(folder_of(copy), folder_of(log))
    return Log.open(log, clock=datetime.now, new_uid=str)


def _moved(log: Log, old: Engine | None, empty: Engine, without_missing: bool, named: Path) -> Moved:
    """A file that the copy lacks may still be in the old log."""
    if old is None:
        moved = moving.move(log._engine, empty, without_missing=True)
    else:
        with closing(old), old.connection(write=False) as reading:
            moved = moving.move(log._engine, empty, without_missing=True, also=old.files(reading))
    if moved.missing and not without_missing:
        raise restoring.lacking(named, list(moved.missing))
    return moved
