"""Where the files of a log are kept: told of any log, changed for one on a server."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import text

from finishlog.errors import InputError
from finishlog.records.files import FilesPlace
from finishlog.store.disk.attachments import folder_of
from finishlog.store.engine.postgres.address import Address

if TYPE_CHECKING:
    from finishlog.store.engine.moving import Progress
    from finishlog.store.engine.postgres.files.placing import Settled
    from finishlog.store.log import Log

DATABASE = "database"
_COUNTED = "SELECT count(*), coalesce(sum(size), 0) FROM file"


def told(log: Log) -> FilesPlace:
    """Where they are, and how many. Raises LogError."""
    with log._engine.connection(write=False) as connection:
        row = connection.execute(text(_COUNTED)).one()
        files, size = int(row[0]), int(row[1])
        if isinstance(log.where, Path):
            folder = str(folder_of(log.where))
            return FilesPlace("beside the log", folder, folder, files, size)
        from finishlog.store.engine.postgres.files import places

        held = places.Held(connection)
        fault = held.fault()
        said = fault.line() if fault else ""
        if not (folder := held.place.folder):
            return FilesPlace("database", None, None, files, size, said, held.unfinished)
        return FilesPlace("folder", folder, str(places.here(folder)), files, size, said, held.unfinished)


def move(log: Log, to: str, *, progress: Progress, without_missing: bool = False) -> Settled:
    """Move the files of a log on a server to a folder, or to `database`. Raises InputError, LogError."""
    where = _on_server(log, "--move-to")
    from finishlog.store.engine.postgres.files import placing

    target = None if to == DATABASE else Path(os.path.expanduser(to))
    return placing.move(log._engine, where, target, tell=progress, without_missing=without_missing)


def set_here(log: Log, folder: str) -> str:
    """Keep in this machine's settings where the log's folder is here; the folder's path as the log has it."""
    _on_server(log, "--here")
    from finishlog.store.engine.postgres.files import places

    here = Path(os.path.expanduser(folder))
    with log._engine.connection(write=False) as connection:
        place = places.read(connection)
    if not place.folder:
        raise InputError("The files of this log are in the database, not in a folder.", where="--here")
    if not here.is_absolute():
        raise InputError(f"This is not a whole path: {here}.", "Nothing was changed.", where="--here")
    if fault := places.Shared(here, place.token).fault():
        raise InputError(fault.title, "Nothing was changed.", where="--here")
    places.remember(place.folder, here)
    return place.folder


def _on_server(log: Log, option: str) -> Address:
    if isinstance(log.where, Address):
        return log.where
    raise InputError(
        "The files of a log file stay beside it.", "Those of a log on a server can move.", where=option
    )
