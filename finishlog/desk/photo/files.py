"""Expands files and folders to the files meant: each to examine, or left out with a reason."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from finishlog.errors import InputError

LONGEST_NAME = 255


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A file that did not come in: `name` for the eye, and why."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Named:
    """A file to look at; `name` is what it is kept under."""

    path: Path
    name: str


def gather(paths: Iterable[Path | Named]) -> Iterator[Named | LeftOut]:
    """The files of these paths and of folders, by name; skips anything but regular files.

    A link in a folder is not followed, so that nothing from outside it comes in and no folder comes twice.
    """
    for path in paths:
        if isinstance(path, Named):
            yield path
            continue
        try:
            is_folder = path.is_dir()
        except (OSError, ValueError):
            is_folder = False
        if is_folder:
            yield from _in_folder(path, "")
        else:
            yield Named(path, shown(path.name) or shown(str(path)))


def _in_folder(folder: Path, before: str) -> Iterator[Named | LeftOut]:
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError as error:
        yield LeftOut(before or shown(folder.name), f"Cannot read the folder: {error.strerror}.")
        return
    for entry in entries:
        name = before + shown(entry.name)
        if entry.is_symlink():
            yield LeftOut(name, "It is a link to another file or folder; links are not followed.")
        elif entry.is_dir(follow_symlinks=False):
            yield from _in_folder(Path(entry.path), f"{name}/")
        elif entry.is_file(follow_symlinks=False):
            yield Named(Path(entry.path), name)
        else:
            yield LeftOut(name, "It is a pipe or a device, not a regular file.")


def shown(name: str) -> str:
    """A file's name as text: bytes of it that are none are shown as question marks."""
    try:
        known = os.fsencode(name)
    except UnicodeEncodeError:  # half a character that stands for no byte
        known = name.encode("utf-8", "replace")
    return known.decode("utf-8", "replace").replace("\0", "")[:LONGEST_NAME].strip()


def read(path: Path, most: int) -> bytes:
    """A plain file, whole. Raises InputError with the reason in `cause`."""
    from finishlog.store.disk.attachments import reading

    with reading(path) as (file, size):
        if size > most:
            raise InputError("", f"It has {size / 2**20:,.0f} MB, {most / 2**20:.0f} MB is the limit.")
        try:
            data = file.read(size)
            while len(data) <= size and (block := file.read(1 << 20)):
                data += block
        except OSError as error:
            raise InputError("", f"Cannot read it: {error.strerror}.") from None
    if len(data) != size:
        raise InputError("", "It changed while being read. Try again when nothing is writing to it.")
    return data


def size(path: Path) -> int:
    """Bytes of a file, 0 where it cannot be told."""
    try:
        return path.stat().st_size
    except (OSError, ValueError):
        return 0
