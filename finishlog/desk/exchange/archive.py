"""Exports everything in open formats, and restores an export as a log."""

from __future__ import annotations

import os
import stat
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.errors import InputError
from finishlog.records.exchange import BroughtBack, Exported
from finishlog.units import shown

if TYPE_CHECKING:
    from finishlog.desk.services import Services

WHOLE = "finishlog.json"
FILES = "files"
_EXAMPLE = "finishlog export shop-2026"
_EXPORT = "a folder that finishlog export made"


def export(services: Services, folder: Path) -> Exported:
    """Write everything into a folder that does not exist yet, or is empty: all of it, or nothing.

    Raises InputError for the folder, LogError for the log.
    """
    _require_room(folder)
    log = services.log()
    from finishlog.store.archive import export as archive

    archive.dump(log, folder)
    with log.reading() as reader:
        jobs = reader.count(archived=True)
    return Exported(str(folder), jobs, sum(1 for _ in (folder / FILES).glob("*")))


def bring_back(services: Services, folder: Path, *, check: bool = False) -> BroughtBack:
    """Make the log that was named of an export; where `check`, only see that it can be made.

    Raises InputError for what is no export or is damaged, LogError for a log that exists already.
    """
    require_export(folder)
    assert services.restore_log
    if check:
        with tempfile.TemporaryDirectory() as passing:
            made = services.restore_log(folder, Path(passing) / "check.finishlog")
    else:
        made = services.restore_log(folder, None)
    return BroughtBack(str(folder), made.jobs, made.entries, made.files, not check, made.notes)


def require_export(folder: Path) -> None:
    """Requires an export's files in the folder. Raises InputError."""
    try:
        found = os.lstat(folder / WHOLE)
    except FileNotFoundError:
        cause = f"It has no {WHOLE}."
        raise InputError(
            "This folder is not an export.", cause, where=_short(folder), example=_EXPORT
        ) from None
    except OSError as failure:
        raise _unreadable(folder, failure) from None
    if not stat.S_ISREG(found.st_mode):
        raise InputError("This folder is not an export.", f"Its {WHOLE} is not a regular file.", where=_short(folder),
                         example=_EXPORT)  # fmt: skip


def _require_room(folder: Path) -> None:
    """Requires a free name or an empty folder. Raises InputError."""
    try:
        found = os.lstat(folder)
    except FileNotFoundError:
        if not folder.parent.is_dir():
            cause = "The folder for it does not exist."
            raise InputError(
                "Nowhere to put the export.", cause, where=_short(folder), example=_EXAMPLE
            ) from None
        return
    except (OSError, ValueError) as failure:
        raise _unreadable(folder, failure) from None
    if not stat.S_ISDIR(found.st_mode):
        raise InputError("A file has that name.", where=_short(folder), example=_EXAMPLE)
    try:
        full = any(os.scandir(folder))
    except OSError as failure:
        raise _unreadable(folder, failure) from None
    if full:
        cause = "An export needs a new folder, so nothing gets mixed up."
        raise InputError("This folder is not empty.", cause, where=_short(folder), example=_EXAMPLE)


def _unreadable(folder: Path, failure: Exception) -> InputError:
    said = getattr(failure, "strerror", None) or str(failure)
    return InputError(f"The folder cannot be used: {said}.", where=_short(folder), example=_EXAMPLE)


def _short(folder: Path) -> str:
    """The folder as a message names it: a name that is too long is cut."""
    return shown(str(folder), 200)
