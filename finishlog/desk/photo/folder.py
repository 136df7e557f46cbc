"""Photos in a folder: pictures by their bytes, newest first; other files are counted."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import UTC, datetime
from heapq import nlargest
from pathlib import Path

from finishlog.desk.photo import files
from finishlog.errors import InputError, LogError
from finishlog.inputs import photos as pictures

MOST = 10_000
"""Pictures listed per folder, newest first; a camera folder holds 9,999."""
USUAL = ("Pictures", "DCIM", "Photos", "Downloads")
"""Where photos lie in a home folder."""


@dataclass(frozen=True, slots=True)
class Listed:
    """A folder, or a file that starts like a picture. `name` is for display; `changed` the file's own time."""

    path: Path
    name: str
    changed: datetime
    is_folder: bool = False


@dataclass(frozen=True, slots=True)
class Folder:
    """What lies in a folder: folders by name, then pictures; `others` files are no pictures, `cut` are too many."""

    path: Path
    name: str
    folders: tuple[Listed, ...]
    pictures: tuple[Listed, ...]
    others: int = 0
    cut: int = 0


@dataclass(frozen=True, slots=True)
class Peek:
    """A picture before import: a small JPEG and the camera's time, or why there is none."""

    small: bytes
    taken: datetime | None = None
    wrong: str = ""


def begin_at(last: str) -> Path:
    """The folder that was used last, else where photos usually lie, else the home folder."""
    home = Path.home()
    for folder in (Path(last) if last else None, *(home / name for name in USUAL)):
        if folder is not None and folder.is_dir():
            return folder
    return home


def listing(folder: Path) -> Folder:
    """Links are not followed, and hidden files not looked at. Raises InputError for what cannot be listed."""
    folders, pictures, others = [], [], 0
    try:
        folder = folder.expanduser().absolute()
        with os.scandir(folder) as entries:
            for entry in entries:
                found = None if entry.name.startswith(".") else _listed(entry)
                if found is None:
                    others += _is_other(entry)
                elif found.is_folder:
                    folders.append(found)
                else:
                    pictures.append(found)
    except (OSError, ValueError, RuntimeError) as error:
        cause = f"{getattr(error, 'strerror', None) or 'It cannot be read'}."
        raise InputError(f"{files.shown(str(folder))} cannot be listed.", cause, where="path") from None
    folders.sort(key=lambda each: each.name.casefold())
    shown = nlargest(MOST, pictures, key=lambda each: (each.changed, each.name))
    cut = len(pictures) - len(shown)
    return Folder(folder, files.shown(str(folder)), tuple(folders), tuple(shown), others, cut)


def _listed(entry: os.DirEntry[str]) -> Listed | None:
    """The item if it is a folder or a picture; one that vanished is neither."""
    try:
        is_folder = entry.is_dir(follow_symlinks=False)
        if not is_folder and not (entry.is_file(follow_symlinks=False) and _begins(Path(entry.path))):
            return None
        changed = datetime.fromtimestamp(entry.stat(follow_symlinks=False).st_mtime, UTC)
    except (OSError, ValueError, OverflowError):
        return None
    return Listed(Path(entry.path), files.shown(entry.name), changed, is_folder)


def _is_other(entry: os.DirEntry[str]) -> bool:
    try:
        return not entry.name.startswith(".") and not entry.is_dir(follow_symlinks=False)
    except OSError:
        return False


def _begins(path: Path) -> bool:
    """Whether it starts with a picture's bytes; a pipe in its place does not hang."""
    from finishlog.store.disk.attachments import reading

    try:
        with reading(path) as (file, _):
            return pictures.begins_as_picture(file.read(16))
    except (InputError, LogError):
        return False


def peek(path: Path) -> Peek:
    """Look at one picture of the list. One that is damaged says so, and stays in the list."""
    try:
        found = pictures.look(files.read(path, pictures.BYTES_MOST))
    except InputError as wrong:
        return Peek(b"", None, wrong.cause or wrong.title)
    return Peek(found.small, found.taken, "" if found.taken else found.clock_wrong)
