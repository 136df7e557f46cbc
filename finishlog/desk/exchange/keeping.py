"""Copies of the log: to the current folder under the first free name, under a given name, as a log elsewhere."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk.exchange import copies

if TYPE_CHECKING:
    from collections.abc import Callable

    from finishlog.desk.services import Services
    from finishlog.records.files import FilesPlace
    from finishlog.store.engine.moving import Moved
    from finishlog.store.engine.postgres.files.placing import Settled


def backup(services: Services) -> str:
    """Copy the log, checked, with its files; the copy's name. Raises LogError."""
    start = f"backup-{services.today().isoformat()}"
    names = (f"{start}{end}.finishlog" for end in ("", *(f"-{n}" for n in range(2, 1000))))
    name = next(name for name in names if not Path(name).exists() and not Path(f"{name}.files").exists())
    backup_to(services, name)
    return name


def backup_to(services: Services, name: str) -> None:
    """Copy the log, checked, with its files, under a new name; an archive if it ends in .zip. Raises LogError."""
    if name.lower().endswith(".zip"):
        from finishlog.store.archive import zipped

        zipped.pack(services.log().where, Path(name).expanduser())
    else:
        services.log().backup(name)
    copies.backed_up(services, os.path.expanduser(name))


def copy_to(
    services: Services,
    where: str,
    *,
    progress: Callable[[str, float | None], None] | None = None,
    without_missing: bool = False,
) -> Moved:
    """Make the same log at a new path or address, compared with this one. Raises LogError; nothing stays then."""
    from finishlog.store.archive import copying

    return copying.copy_to(services.log(), where, progress=progress, without_missing=without_missing)


def files_place(services: Services) -> FilesPlace:
    """Where the log's photos and files are kept. Raises LogError."""
    from finishlog.store.archive import files_place as place

    return place.told(services.log())


def move_files(
    services: Services,
    to: str,
    *,
    progress: Callable[[str, float | None], None],
    without_missing: bool = False,
) -> Settled:
    """Move the files of a log on a server to a folder, or to `database`. Raises InputError, LogError."""
    from finishlog.store.archive import files_place as place

    return place.move(services.log(), to, progress=progress, without_missing=without_missing)


def files_here(services: Services, folder: str) -> None:
    """Keep where the log's shared folder is on this machine. Raises InputError, LogError."""
    from finishlog.store.archive import files_place as place

    place.set_here(services.log(), folder)
