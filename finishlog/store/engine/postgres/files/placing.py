"""Moves the files of a log on a server: from the log into a shared folder, back, or to another folder.

Copied and read back; then the log says where they are; then they are removed where they were. Killed in between, all
of them are in the place that the log says, and doing it again goes on from there. Others may write meanwhile.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection

from finishlog import private
from finishlog.errors import InputError, LogError, why
from finishlog.store.disk.attachments import Files
from finishlog.store.disk.files import sync_folder
from finishlog.store.engine.moving import Progress, lacking
from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import Address
from finishlog.store.engine.postgres.files import places
from finishlog.store.engine.postgres.files.pieces import Pieces
from finishlog.store.engine.postgres.files.places import MARKER, Held, Place, Shared
from finishlog.store.engine.protocol import Engine

Named = list[tuple[str, int]]
AT_ONCE = 32 << 20
"""Bytes that go into the log in one write: others wait for it."""
_NAMED = "SELECT sha256, size FROM file ORDER BY sha256"
_MOVING = "SELECT pg_try_advisory_lock(hashtext('finishlog files of ' || current_database()))"
_OWNS = "SELECT pg_has_role(current_user, relowner, 'USAGE') FROM pg_class WHERE oid = 'file_piece'::regclass"
_GUARD = "ALTER TABLE file_piece {} TRIGGER file_piece_no_delete"
_DELETE = "DELETE FROM file_piece WHERE sha256 <> ALL(%s)"
_HALF = (".new-", ".part")


@dataclass(frozen=True, slots=True)
class Settled:
    """What was moved: how many files, those that the log lacks, and a folder that could not be emptied."""

    files: int
    missing: tuple[str, ...] = ()
    not_emptied: str = ""


@dataclass(slots=True)
class _Copied:
    sound: set[str]
    missing: list[str]


def move(
    engine: Engine, where: Address, target: Path | None, *, tell: Progress, without_missing: bool = False
) -> Settled:
    """Move all files into the folder, or into the log if that is None. Raises InputError, LogError.

    Files that the log lacks are a failure, before anything is removed, unless `without_missing`.
    """
    with engine.failures(), closing(server.connect(where)) as raw:
        _alone(raw, where)
        place, wanted = _begin(engine, target, tell)
        copied = _Copied(set(), [])
        if place.folder != wanted:
            _copy(engine, place, wanted, copied, tell)
            if copied.missing and not without_missing:
                raise lacking(copied.missing)
            place = _flip(engine, place, wanted, copied, without_missing)
            tell("flipped", None)
        settled = _clear(engine, place, copied, tell)
        with suppress(server.library().Error):  # gives the space back; the server does it later by itself
            raw.execute("VACUUM file_piece")
        return settled


def _alone(raw: Any, where: Address) -> None:
    if not raw.execute(_OWNS).fetchone()[0]:
        raise InputError(
            "Only the login that made the log on its server can move its files.", "Nothing was changed."
        )
    if not raw.execute(_MOVING).fetchone()[0]:
        raise LogError(
            f"Another program is moving the files of this log: {where}.", "", "Wait until it is done."
        )


def _begin(engine: Engine, target: Path | None, tell: Progress) -> tuple[Place, str]:
    """The place, with the folder that is to come noted and marked, and how the log is to call that."""
    with engine.connection(write=False) as connection:
        place = places.read(connection)
        uid = str(connection.exec_driver_sql("SELECT uid FROM log_state").scalar_one())
    wanted = _said(place, target)
    place = replace(place, token=place.token or uuid4().hex)
    if target is not None:
        _require_fit(target, uid, place.token)
    if place.other and place.other != wanted and place.folder != wanted:
        _clear(engine, place, _Copied(set(), []), tell)
        place = replace(place, other="")
    if wanted and target is not None and place.folder != wanted:
        place = _noted(engine, replace(place, other=wanted))
        tell("noted", None)
        _mark(target, uid, place.token)
    return place, wanted


def _said(place: Place, target: Path | None) -> str:
    """How the log calls a folder: one that it knows may have another path on this machine."""
    if target is None:
        return ""
    known = (one for one in (place.folder, place.other) if one)
    return next((one for one in known if _same(places.here(one), target)), str(target))


def _same(one: Path, other: Path) -> bool:
    return os.path.realpath(one) == os.path.realpath(other)


def _noted(engine: Engine, place: Place) -> Place:
    with engine.connection(write=True) as connection:
        return places.write(connection, place)


# the folder


def _require_fit(folder: Path, uid: str, token: str) -> None:
    """Raise InputError unless the folder can hold this log's files: absolute, writable, empty or its own."""
    if not folder.is_absolute():
        raise _unfit(folder, "Give its whole path: other machines start elsewhere.")
    try:
        if not folder.exists() and folder.parent.is_dir():
            folder.mkdir()
            sync_folder(folder.parent)
        if not folder.is_dir():
            raise _unfit(folder, "There is no such folder.")
        found = places.marker(folder)
        if found and found.get("token") != token:
            same = found.get("log") == uid
            raise _unfit(folder, f"It holds the files of {'a copy of this' if same else 'another'} log.")
        if not found and any(not _is_half_made(name) for name in os.listdir(folder)):
            raise _unfit(folder, "It is not empty.")
        with tempfile.TemporaryFile(dir=folder) as probe:
            probe.write(b"finishlog")
    except (OSError, ValueError) as error:
        raise _unfit(folder, why(error)) from None


def _unfit(folder: Path, cause: str) -> InputError:
    return InputError(
        f"The log's files cannot go to this folder: {folder}.",
        f"{cause} Nothing was changed.",
        where="--move-to",
    )


def _is_half_made(name: str) -> bool:
    return name.startswith(_HALF[0]) and name.endswith(_HALF[1])


def _mark(folder: Path, uid: str, token: str) -> None:
    """Say whose folder it is, wholly or not at all."""
    if places.marker(folder):
        return
    part = folder / f"{_HALF[0]}{uuid4().hex[:8]}{_HALF[1]}"
    try:
        private.write(part, places.text_of_marker(uid, token))
        with suppress(OSError):
            os.chmod(part, os.stat(folder).st_mode & 0o666)
        os.replace(part, folder / MARKER)
        sync_folder(folder)
    except OSError as error:
        raise _unfit(folder, why(error)) from None


# copy


def _named(connection: Connection) -> Named:
    return [(str(row[0]), int(row[1])) for row in connection.exec_driver_sql(_NAMED)]


def _copy(engine: Engine, place: Place, wanted: str, copied: _Copied, tell: Progress) -> None:
    with engine.connection(write=False) as connection:
        named = _named(connection)
        whole, done = sum(size for _, size in named) or 1, 0
        if wanted:
            for some in _batches(named):
                done = _take(
                    Held(connection), _at(place, wanted, connection), some, copied, tell, whole, done
                )
            return
    for some in _batches(named):
        with engine.connection(write=True) as connection:
            done = _take(Held(connection), Pieces(connection), some, copied, tell, whole, done)


def _at(place: Place, folder: str, connection: Connection) -> Files:
    return Shared(places.here(folder), place.token) if folder else Pieces(connection)


def _batches(named: Named) -> Iterator[Named]:
    some: Named = []
    size = 0
    for one in named:
        some.append(one)
        size += one[1]
        if size >= AT_ONCE:
            yield some
            some, size = [], 0
    if some:
        yield some


def _take(
    held: Files, into: Files, named: Named, copied: _Copied, tell: Progress, whole: int, done: int
) -> int:
    """Copy these files and read them back; how many bytes are done."""
    for sha256, size in named:
        tell("files", done / whole)
        if into.wrong_with(sha256, size):
            taken = into.take(sha256, held.blocks(sha256)) and not into.wrong_with(sha256, size)
        else:
            taken = True
        if taken:
            copied.sound.add(sha256)
        else:
            copied.missing.append(sha256)
        done += size
    return done


def _flip(engine: Engine, place: Place, wanted: str, copied: _Copied, without_missing: bool) -> Place:
    """The log says where its files are from now on; those that came meanwhile are copied in its turn to write."""
    known = copied.sound.union(copied.missing)
    with engine.connection(write=True) as connection:
        late = [one for one in _named(connection) if one[0] not in known]
        before = len(copied.missing)
        _take(Held(connection), _at(place, wanted, connection), late, copied, lambda *_: None, 1, 0)
        if len(copied.missing) > before and not without_missing:
            raise lacking(copied.missing)
        return places.write(connection, replace(place, folder=wanted, other=place.folder))


# remove


def _clear(engine: Engine, place: Place, copied: _Copied, tell: Progress) -> Settled:
    """Remove files from where they no longer belong, but none that is not whole where it does."""
    with engine.connection(write=False) as connection:
        held, named = Held(connection), _named(connection)
        if not held.unfinished:
            return Settled(len(named))
        if fault := held.fault():
            raise fault
        spare = [
            sha256
            for sha256, size in named
            if sha256 not in copied.sound and held.first.wrong_with(sha256, size)
        ]
    tell("removing", None)
    if place.folder:
        _delete(engine, spare)
    left = _leave(place, set(spare), tell) if place.other else ""
    tell("removing", None)
    still = left if left and spare and not Shared(places.here(left), place.token).fault() else ""
    _noted(engine, replace(place, other=still))
    return Settled(len(named) - len(spare), tuple(spare), left)


def _leave(place: Place, spare: set[str], tell: Progress) -> str:
    """The other folder if something of ours stays in it, else blank."""
    files = Shared(places.here(place.other), place.token)
    return "" if _empty(files, spare, tell) else place.other


def _delete(engine: Engine, spare: list[str]) -> None:
    with engine.connection(write=True) as connection:
        raw = server.driver(connection)
        raw.execute(_GUARD.format("DISABLE"))
        raw.execute(_DELETE, (spare,))
        raw.execute(_GUARD.format("ENABLE"))


def _empty(files: Shared, spare: set[str], tell: Progress) -> bool:
    """Remove what is ours from a folder, its marker last; whether nothing of ours stays. What is not ours stays."""
    if files.fault():
        return False
    try:
        for path in files.strays(spare):
            if _is_half_made(path.name) or files.path(path.name) == path:
                tell("removing", None)
                path.unlink(missing_ok=True)
                with suppress(OSError):
                    path.parent.rmdir()
        if any((files.path(sha256)).exists() for sha256 in spare):
            return False
        (files.folder / MARKER).unlink(missing_ok=True)
        sync_folder(files.folder)
    except OSError:
        return False
    return True
