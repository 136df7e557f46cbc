"""Puts a copy in the place of a log, whole: killed at any moment, the old log or the new one is there."""

from __future__ import annotations

import os
import shlex
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from time import strftime

from finishlog.errors import InputError, LogError
from finishlog.store.disk import switching
from finishlog.store.disk.attachments import Attachments, folder_of
from finishlog.store.disk.files import free_name, sync_folder
from finishlog.store.engine import header, sqlite, upgrade, wal
from finishlog.store.engine.backup import files_in
from finishlog.store.engine.postgres.address import Address
from finishlog.store.schema import revisions

_LOG, _FILES = "log", "files"
LISTS = "finishlog restore lists the copies of this log."


@dataclass(frozen=True, slots=True)
class PutBack:
    """What was put back. `before` is where the log from before is kept, None if there was none."""

    where: Path | Address
    before: Path | str | None
    files: int
    missing: int


def restore(copy: Path, where: Path, *, without_missing: bool = False, named: Path | None = None) -> PutBack:
    """Verify the copy, then switch log and files in one step. The log from before stays, under a dated name.

    `named` is what the user named the copy by.

    Raises LogError if the copy is damaged or lacks files, or if anybody has the log open; nothing is
    changed then.
    """
    target = Path(os.path.realpath(where))
    header.finish_switch(target)
    named = named or copy
    require_copy(copy, named)
    if os.path.lexists(target):
        _require_ours(target, copy)
    try:
        with switching.staged(target) as folder:
            lost, count = _stage(copy, target, folder)
            if lost and not without_missing:
                raise lacking(named, lost)
            with wal.alone(target) as nobody:
                if not nobody:
                    raise _in_use(where)
                before = _free(target)
                switching.switch(target, _moves(target, before, folder))
    except OSError as error:
        raise LogError(
            f"The copy cannot be restored to {where}.",
            f"{error.strerror or error}.",
            "Check the folder and the disk; the log that was there is unchanged.",
        ) from None
    return PutBack(where, before if os.path.lexists(before) else None, count, len(lost))


def require_copy(copy: Path, named: Path) -> None:
    """Raise LogError for what is no copy of a log that this program reads."""
    if not os.path.lexists(copy):
        raise LogError(f"No copy at {named}.", "Nothing was changed.", LISTS)
    if (copy / "finishlog.json").is_file():
        raise LogError(
            f"This is an export, not a copy: {named}.",
            "Nothing was changed.",
            f"It comes back as a new log: finishlog --log NEW import --new {shlex.quote(str(named))}",
        )
    try:
        header.require_log(copy)
    except LogError as error:
        raise LogError(error.title, f"{error.cause} Nothing was changed.", LISTS) from None
    revision = sqlite.schema_of(copy)
    if revision is None or revision not in revisions.known():
        raise upgrade.newer(named, revision)
    if wal.wal_of(copy).exists() and not wal.is_its_own(copy):
        raise LogError(
            f"A file beside the copy holds another log's entries: {wal.wal_of(copy)}.",
            "Nothing was changed.",
            "Move that file elsewhere, then try again.",
        )


def _require_ours(target: Path, copy: Path) -> None:
    """A damaged log may be anything, but another program's database is left alone."""
    if os.path.samefile(target, copy):
        raise InputError("This is the log itself.", "Name a copy of it.", where=str(copy))
    if header.is_foreign(target):
        raise header.not_a_log(target, "It is another program's database; left alone.")


def _stage(copy: Path, target: Path, folder: Path) -> tuple[list[str], int]:
    """Copy log and files, verifying both. A file that the copy lacks may still lie beside the log."""
    copy_out(copy, folder / _LOG)
    into = Attachments(folder / _FILES)
    sources = [Attachments(folder_of(copy)), Attachments(folder_of(target))]
    named = files_in(folder / _LOG)
    lost = [sha256 for sha256, _ in named if not any(_kept(source, sha256, into) for source in sources)]
    sync_folder(folder)
    return lost, len(named) - len(lost)


def copy_out(copy: Path, target: Path) -> None:
    """A verified copy of a copy; nothing is left beside it."""
    read = sqlite.open_reading if wal.wal_of(copy).exists() else sqlite.open_still
    with sqlite.told(copy), closing(read(copy)) as raw:
        upgrade.copy_open(raw, target)


def _kept(source: Attachments, sha256: str, into: Attachments) -> bool:
    try:
        kept = into.keep(source.path(sha256))
    except InputError:
        return False
    if kept.sha256 == sha256:
        return True
    into.path(kept.sha256).unlink()
    return False


def _free(target: Path) -> Path:
    """A dated name, free with all that belongs to a log."""
    name = target.with_name(f"{target.stem}.before-restore-{strftime(wal.DAY)}{target.suffix}")
    free, number = free_name(name), 1
    while os.path.lexists(folder_of(free)) or os.path.lexists(wal.wal_of(free)) or os.path.lexists(free):
        number += 1
        free = name.with_name(f"{name.stem}-{number}{name.suffix}")
    return free


def _moves(target: Path, before: Path, folder: Path) -> list[switching.Move]:
    """The -wal goes along with the log it belongs to."""
    moves = [
        (target.name, before.name),
        (wal.wal_of(target).name, wal.wal_of(before).name),
        (folder_of(target).name, folder_of(before).name),
        (f"{folder.name}/{_FILES}", folder_of(target).name),
    ]
    there = [move for move in moves if os.path.lexists(target.parent / move[0])]
    return [*there, (f"{folder.name}/{_LOG}", target.name)]


def lacking(copy: Path, lost: list[str]) -> LogError:
    """The refusal of a copy without some of its files."""
    count = f"{len(lost)} of its files are" if len(lost) > 1 else "one of its files is"
    return LogError(
        f"The copy is incomplete: {copy}.",
        f"{count[0].upper()}{count[1:]} missing or damaged: {', '.join(f'{each[:12]}…' for each in lost[:3])}. "
        "Nothing was changed.",
        "Look for an older copy, or go without them: --without-missing.",
    )


def _in_use(where: Path) -> LogError:
    return LogError(
        f"Another program has the log open: {where}.",
        "Nothing was changed.",
        "Close it everywhere, then try again.",
    )
