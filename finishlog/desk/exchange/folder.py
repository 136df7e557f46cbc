"""Browses for a paper log: a folder's sheets and folders, and typed paths."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from finishlog.errors import InputError
from finishlog.plain import visible
from finishlog.retrying import anew

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from finishlog.desk.services import Services

SHEETS = (".csv", ".txt", ".tsv", ".xlsx")
LAST = "import folder"
"""The setting of the log that names the folder of the last sheet."""

Kind = Literal["sheet", "up", "folder"]


@dataclass(frozen=True, slots=True)
class Found:
    """What stands in a folder; size and day of a sheet."""

    name: str
    path: str
    kind: Kind
    size: int = 0
    changed: date | None = None


@dataclass(frozen=True, slots=True)
class Folder:
    """The newest sheets first, then the folders by name. `others` counts the files that are no sheet."""

    path: str
    found: tuple[Found, ...]
    others: int = 0


def last(services: Services) -> str:
    """The last sheet's folder if it still exists, else the home folder."""
    kept = ""
    if services.has_log():
        with services.log().reading() as reader:
            kept = reader.settings().get(LAST, "")
    return kept if kept and os.path.isdir(kept) else os.path.expanduser("~")


@anew
def keep(services: Services, path: Path) -> None:
    """Remember the folder of this sheet for the next one."""
    with services.log().writing() as writer:
        writer.set_setting(LAST, visible(str(path.absolute().parent)))


def lay_open(text: str, beside: str, zone: ZoneInfo) -> Folder | Path:
    """The folder at a path, or the file itself. A path without its folder stands in `beside`. Raises InputError."""
    try:
        where = Path(beside, os.path.expanduser(text.strip().strip("\"'"))).absolute()
        if "\0" in text:
            raise ValueError("a path cannot have a NUL character")
        if not where.is_dir():
            return where
        with os.scandir(where) as entries:
            every = [entry for entry in entries if not entry.name.startswith(".")]
    except (OSError, ValueError) as failure:
        why = getattr(failure, "strerror", None) or failure
        raise InputError(
            f"This folder cannot be opened: {why}.", where=visible(text), example="~/Documents"
        ) from None
    found = [one for one in (_found(entry, zone) for entry in every) if one is not None]
    sheets = sorted(
        (one for one in found if one.kind == "sheet"),
        key=lambda one: (-(one.changed or date.min).toordinal(), one.name.casefold()),
    )
    folders = sorted((one for one in found if one.kind == "folder"), key=lambda one: one.name.casefold())
    up = [] if where.parent == where else [Found("..", str(where.parent), "up")]
    return Folder(str(where), (*sheets, *up, *folders), len(every) - len(found))


def _found(entry: os.DirEntry[str], zone: ZoneInfo) -> Found | None:
    """A sheet or a folder; None for all else, and for what goes away meanwhile."""
    try:
        if entry.is_dir():
            return Found(entry.name, entry.path, "folder")
        if not entry.name.casefold().endswith(SHEETS) or not entry.is_file():
            return None
        known = entry.stat()
    except OSError:
        return None
    changed = datetime.fromtimestamp(known.st_mtime, UTC).astimezone(zone).date()
    return Found(entry.name, entry.path, "sheet", known.st_size, changed)
