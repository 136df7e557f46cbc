"""Atomic creation of a new file, never overwriting unless told so."""

from __future__ import annotations

import errno
import os
import re
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from finishlog import private
from finishlog.errors import InputError, LogError, is_full, why
from finishlog.store.disk.held import start_of

_WHY = {
    errno.ENOENT: "No such folder.",
    errno.ENOTDIR: "No such folder.",
    errno.EACCES: "This folder is not writable.",
    errno.EPERM: "This folder is not writable.",
    errno.EROFS: "This disk is read-only.",
    errno.ENAMETOOLONG: "The name is too long.",
}
_LIKE = {
    "--csv": "reseals.csv",
    "--ics": "reseals.ics",
    "--letters": "letters.pdf",
    "--template": "samples.csv",
}
_FORCED = ("--pdf", "--csv", "--ics", "--letters")
"""Commands with --force."""
_DATABASE = b"SQLite format 3\0"


_DEVICES = frozenset(
    ("con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10)))
)
"""Names that Windows keeps for devices, whatever ending follows."""
_LONGEST_STEM = 100


def file_name(text: str, ending: str = "") -> str:
    """A name for a file that is called after `text`, which may be anything: never a path, never a device."""
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", text)[:_LONGEST_STEM].strip("-")
    return f"{f'job-{stem}' if stem.casefold() in _DEVICES else stem or 'job'}{ending}"


@contextmanager
def new_file(name: str, data: bytes, *, force: bool = False, where: str = "--pdf") -> Iterator[Path]:
    """Write `data` beside its target and move it there if the block succeeds, else remove it.

    `force` allows replacing an existing file. Raises InputError naming `where`.
    """
    target = check(name, force=force, where=where)
    part = target.parent / f".finishlog-{secrets.token_hex(6)}.part"
    try:
        with _said(target, where):
            private.write(part, data)
        yield target
        with _said(target, where):
            os.replace(part, target) if force else _place(part, target, where)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def check(name: str, *, force: bool = False, where: str = "--pdf") -> Path:
    """The path of a new file. Raises InputError if something there may not be replaced."""
    if not name.strip() or "\0" in name:
        title = "That is not a file name." if name.strip() else "The file name is empty."
        raise InputError(title, where=where, example=f"{where} {_like(where)}")
    target = Path(name)
    with _said(target, where):
        there = os.path.lexists(target)
        if target.is_dir():
            raise InputError(f"{name} is a folder.", where=where, example=f"{where} {target / _like(where)}")
        if there and not force:
            raise _exists(target, where)
        if there and not (target.is_file() or target.is_symlink()):
            raise InputError(f"{name} is not a regular file.", where=where, example=f"{where} {_like(where)}")
        if target.is_file() and _is_log(target):
            cause = "Not even --force overwrites one: use another name."
            raise InputError(f"{name} is a log.", cause, where=where, example=f"{where} {_like(where)}")
    return target


def _is_log(target: Path) -> bool:
    """Whether it is a database, this log or another."""
    return start_of(target, len(_DATABASE)) == _DATABASE  # it may be open


def _like(where: str) -> str:
    return _LIKE.get(where, "sheet.pdf")


def _exists(target: Path, where: str) -> InputError:
    remedy = "Use another name, or add --force to replace it." if where in _FORCED else "Use another name."
    return InputError(f"{target} already exists.", remedy, where=where)


def _place(part: Path, target: Path, where: str) -> None:
    """Move into place only if still free; without hard links, a check just before must do."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise _exists(target, where) from None
    except OSError:
        if os.path.lexists(target):
            raise _exists(target, where) from None
        os.replace(part, target)


def full(title: str, failure: OSError) -> LogError:
    """The refusal of a disk that takes no more: nothing that was typed is wrong."""
    return LogError(title, why(failure), "Free some space, then try again.")


@contextmanager
def _said(target: Path, where: str) -> Iterator[None]:
    """The operating system's message."""
    try:
        yield
    except OSError as failure:
        title = f"{target} cannot be written."
        if is_full(failure):
            raise full(title, failure) from None
        cause = _WHY.get(failure.errno or 0) or why(failure)
        raise InputError(title, cause, where=where, example=f"{where} {_like(where)}") from None
