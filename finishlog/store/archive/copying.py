"""A whole log copied to another place: from file to server, server to file, or within either."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.store.disk.attachments import folder_of
from finishlog.store.disk.files import already_there
from finishlog.store.engine import header, moving, opening
from finishlog.store.engine.moving import Moved, Progress
from finishlog.store.engine.postgres.address import Address, place

if TYPE_CHECKING:
    from finishlog.store.log import Log


def copy_to(
    log: Log, where: str | Path | Address, *, progress: Progress | None = None, without_missing: bool = False
) -> Moved:
    """The same log, with its files, at a new path or address, compared with this one; others may write meanwhile.

    It gets its name last of all. Raises LogError if there is something of that name, or the log lacks files.
    """
    target = place(where)
    if isinstance(target, Path) and os.path.lexists(folder_of(target)):
        raise already_there(folder_of(target), "log")
    try:
        with opening.new(target) as empty:
            with empty.failures():
                empty.make()
            return moving.move(log._engine, empty, progress=progress, without_missing=without_missing)
    except UnicodeDecodeError:
        raise header.damaged(log.where, "Texts in it are noise.") from None
