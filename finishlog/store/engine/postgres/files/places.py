"""Where the files of a log on a server are: in the log itself, or in a folder that its machines share.

The place stands in a comment on the table of pieces, not in a row: a copy of the log is the same log, wherever its
files are. A folder says by a marker whose it is: one that is not mounted, or that is another log's, is known by it,
and then nothing is written. While files move (`placing`) they are in two places: all of them in the first.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Set
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from pathlib import Path

from sqlalchemy.engine import Connection

from finishlog.errors import InputError, LogError, why
from finishlog.records.files import Content
from finishlog.store.disk.attachments import Attachments, Files, Kept, reading
from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.files.pieces import Pieces

MARKER = "finishlog.files"
"""In a shared folder: whose files these are."""
_LONGEST = 10_000
_SAID = "finishlog files "
_READ = "SELECT obj_description('file_piece'::regclass, 'pg_class')"
_ANY_PIECE = "SELECT 1 FROM file_piece LIMIT 1"
_MODE = 0o7777


@dataclass(frozen=True, slots=True)
class Place:
    """Where all files are: in `folder`, or if that is blank in the log. Paths are as the log has them."""

    folder: str = ""
    other: str = ""
    """A folder that they are moving to, or that is still to be emptied."""
    token: str = ""
    """What stands in the markers of this log's folders, and of no copy of it."""


def read(connection: Connection) -> Place:
    """The place, as a transaction sees it. Raises LogError if it cannot be told."""
    said = server.driver(connection).execute(_READ).fetchone()[0] or ""
    if not said.startswith(_SAID):
        return Place()
    try:
        found = json.loads(said[len(_SAID) :])
        return Place(*(str(found[name]) for name in ("folder", "other", "token")))
    except (ValueError, TypeError, KeyError):
        raise LogError(
            "The log does not say where its files are.",
            "The comment on its table file_piece is damaged.",
            "Restore a dump of it.",
        ) from None


def write(connection: Connection, place: Place) -> Place:
    """Keep the place, in a write. Only the owner of the table may."""
    said = f"{_SAID}{json.dumps(asdict(place))}" if place.folder or place.other else ""
    quoted = "'" + said.replace("'", "''") + "'" if said else "NULL"
    server.driver(connection).execute(f"COMMENT ON TABLE file_piece IS {quoted}")
    return place


def here(folder: str) -> Path:
    """The path on this machine of a folder as the log has it."""
    from finishlog import paths, settings

    return Path(settings.read(paths.settings_file())[0].files.get(folder, folder))


def remember(folder: str, path: Path) -> None:
    """Keep where a folder is on this machine. Raises LogError."""
    from finishlog import paths, settings

    machine = settings.read(paths.settings_file())[0]
    files = {said: where for said, where in machine.files.items() if said != folder}
    if str(path) != folder:
        files[folder] = str(path)
    try:
        settings.write(paths.settings_file(), replace(machine, files=files))
    except OSError as error:
        raise LogError("This machine's settings cannot be saved.", why(error)) from None


def marker(folder: Path) -> dict[str, str]:
    """What a folder says of whose files it has; {} if nothing."""
    try:
        with reading(folder / MARKER) as (file, _):
            found = json.loads(file.read(_LONGEST))
        return {name: str(value) for name, value in found.items()}
    except (InputError, OSError, ValueError, AttributeError):
        return {}


def text_of_marker(uid: str, token: str) -> bytes:
    """The marker of a folder."""
    about = "Photos and files of a finishlog log. Keep all of this folder together."
    return json.dumps({"about": about, "log": uid, "token": token}, indent=1).encode() + b"\n"


class Shared(Attachments):
    """Files in a folder that machines share: who may read the folder may read what is in it."""

    def __init__(self, folder: Path, token: str) -> None:
        super().__init__(folder)
        self._token = token

    def fault(self) -> LogError | None:
        """Why this folder cannot be used: it is not there, or not this log's."""
        found = marker(self.folder)
        if found and found.get("token") == self._token:
            return None
        if found:
            title, cause = f"This folder holds another log's files: {self.folder}.", "It was left alone."
        else:
            title = f"The folder with the log's files is not there: {self.folder}."
            cause = "It is not mounted, or elsewhere on this machine."
        return LogError(title, cause, "Mount it, or say where it is: finishlog files --here FOLDER")

    def strays(self, known: set[str]) -> list[Path]:
        """Files no entry names, and unfinished copies."""
        marked = self.folder / MARKER
        return [path for path in super().strays(known) if path != marked]

    def _mode(self) -> int:
        return os.stat(self.folder).st_mode & _MODE

    def _part(self) -> tuple[int, str]:
        if fault := self.fault():
            raise LogError(fault.title, f"{fault.cause} Nothing was written.", fault.remedy)
        handle, part = super()._part()
        with suppress(OSError):  # a disk without such rights
            os.chmod(part, self._mode() & 0o666)
        return handle, part

    def _make(self, folder: Path) -> None:
        folder.mkdir(exist_ok=True)
        with suppress(OSError):
            os.chmod(folder, self._mode())


class Held(Files):
    """The files of one log, wherever they are, within one transaction; the place is asked when first needed."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    @cached_property
    def place(self) -> Place:
        """Where they are."""
        return read(self._connection)

    @cached_property
    def first(self) -> Files:
        """Where all of them are, and new ones go."""
        return self._at(self.place.folder)

    @cached_property
    def _rest(self) -> list[Files]:
        """Where some may be too, while they move."""
        some = [self._at(self.place.other)] if self.place.other else []
        return [*some, *([self._at("")] if self.place.folder else [])]

    def _at(self, folder: str) -> Files:
        return Shared(here(folder), self.place.token) if folder else Pieces(self._connection)

    @property
    def folder(self) -> Path:  # type: ignore[override]
        """The folder, or the name of the table."""
        return self.first.folder

    def keep(self, source: Path) -> Kept:
        """Copy a file in, unless it is already there. Raises InputError, LogError."""
        return self.first.keep(source)

    def put(self, content: Content) -> Kept:
        """Like `keep`, for bytes already read."""
        return self.first.put(content)

    def take(self, sha256: str, blocks: Iterator[bytes]) -> bool:
        """Like `keep`, from blocks; whether they were that file."""
        return self.first.take(sha256, blocks)

    def blocks(self, sha256: str) -> Iterator[bytes]:
        """The bytes of a file, a block at a time; none if it is nowhere. Raises LogError if they are out of reach."""
        for files in (self.first, *self._rest):
            there = False
            for block in files.blocks(sha256):
                there = True
                yield block
            if there:
                return
        if fault := self.fault():
            raise fault

    @property
    def placed(self) -> tuple[str, ...]:
        """The files that were placed here and not forgotten."""
        return self.first.placed if self._used else ()

    def forget(self, named: Set[str] = frozenset()) -> None:
        """Remove files placed here that no entry will name. The transaction may have failed: nothing is asked of it."""
        if self._used:
            self.first.forget(named)

    @property
    def _used(self) -> bool:
        return "first" in vars(self)

    def wrong_with(self, sha256: str, size: int) -> tuple[str, ...]:
        """The fault of one kept file, () if intact somewhere. Reads every byte."""
        wrong = self.first.wrong_with(sha256, size)
        if wrong and any(not files.wrong_with(sha256, size) for files in self._rest):
            return ()
        return wrong

    def strays(self, known: set[str]) -> list[Path]:
        """Files no entry names. Raises LogError if they are out of reach."""
        if fault := self.fault():
            raise fault
        return self.first.strays(known)

    def fault(self) -> LogError | None:
        """Why all of them are out of reach just now; None if they are not."""
        return self.first.fault()

    @property
    def unfinished(self) -> bool:
        """Whether some are still where they were before a move, or already where they were to be."""
        if self.place.other:
            return True
        raw = server.driver(self._connection)
        return bool(self.place.folder) and raw.execute(_ANY_PIECE).fetchone() is not None

    def notes(self) -> tuple[str, ...]:
        """That a move was not finished."""
        if not self.unfinished:
            return ()
        where = self.place.folder or "database"
        return (
            f"Photos and files were being moved; nothing is lost. Move them again, or stay: files --move-to {where}.",
        )
