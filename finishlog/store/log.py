"""A log on disk: create, open, read, write, copy and check."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy.engine import Connection

from finishlog.errors import LogError
from finishlog.store.disk.attachments import Attachments, folder_of, move_files
from finishlog.store.disk.files import built_beside, cannot_be_made
from finishlog.store.engine import header, opening
from finishlog.store.engine.protocol import GIVE_UP_AFTER_S, Engine, Waiting
from finishlog.store.reader import Reader

if TYPE_CHECKING:
    from finishlog.store.check import CheckReport
    from finishlog.store.writer import Writer

Clock = Callable[[], datetime]
NewUid = Callable[[], str]
Fill = Callable[["Log"], None]


class _TakenBack(Exception):
    """Ends a trial unit of work."""


class Log:
    """An open log. Thread-safe: every `reading` and `writing` has its own connection."""

    def __init__(
        self,
        where: Path,
        engine: Engine,
        *,
        clock: Clock,
        new_uid: NewUid,
        upgraded_from: Path | None = None,
    ) -> None:
        self.where = where
        self.upgraded_from = upgraded_from
        """The copy of the log as it was before an upgrade, None if there was none."""
        self._engine = engine
        self._clock = clock
        self._new_uid = new_uid

    @classmethod
    def create(cls, where: str | Path, *, clock: Clock, new_uid: NewUid, fill: Fill | None = None) -> Log:
        """Create and open a log, empty or filled by `fill`.

        Refuses an existing file. The log gets its name once complete, so even a killed program leaves
        nothing half-made.
        """
        target = header.place(where)
        _own_folder(target)
        with built_beside(target, "log") as part:
            opening.at(part).make()
            if fill is not None:
                cls._filled(part, fill, clock, new_uid)
                move_files(part, target)
        return cls.open(target, clock=clock, new_uid=new_uid)

    @classmethod
    def _filled(cls, part: Path, fill: Fill, clock: Clock, new_uid: NewUid) -> None:
        engine = opening.at(part)
        log = cls(part, engine, clock=clock, new_uid=new_uid)
        try:
            fill(log)
        except BaseException:
            shutil.rmtree(folder_of(part), ignore_errors=True)
            raise
        finally:
            log.close()
        if not engine.settled():  # closing the last connection merges the WAL; a leftover would be lost
            raise LogError(f"Could not repair the log: {part}.", "", "Try again.")

    @classmethod
    def open(
        cls,
        where: str | Path,
        *,
        clock: Clock,
        new_uid: NewUid,
        upgrade: bool = True,
        on_wait: Waiting | None = None,
        give_up_after_s: float = GIVE_UP_AFTER_S,
    ) -> Log:
        """Open a log; copies, then upgrades an older one.

        `on_wait` is called again and again while a write waits for another program. Raises
        LogError if the log is missing, foreign, newer than the program, damaged or locked.
        """
        target = header.place(where)
        engine = opening.at(target, on_wait=on_wait, give_up_after_s=give_up_after_s)
        engine.require()
        copy = engine.bring_up_to_date(_compute, upgrade=upgrade)
        return cls(target, engine, clock=clock, new_uid=new_uid, upgraded_from=copy)

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """One consistent snapshot, unaffected by concurrent writes."""
        with self._connection(write=False) as connection:
            yield Reader(connection)

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """One unit of work, rolled back after any exception."""
        from finishlog.store.writer import Writer

        attachments = Attachments(folder_of(self.where))
        with self._connection(write=True) as connection:
            try:
                writer = Writer(connection, self._clock, self._new_uid, attachments)
                yield writer
                writer.finish()
            except BaseException:
                attachments.forget()  # still locked: no one else can have named these files
                raise

    @contextmanager
    def trying(self) -> Iterator[Writer]:
        """A unit of work that is always rolled back. For a read-only log it works on a temporary copy."""
        if self._engine.can_write():
            with suppress(_TakenBack), self.writing() as writer:
                yield writer
                raise _TakenBack
            return
        with tempfile.TemporaryDirectory(prefix="finishlog-") as folder:
            part = Path(folder) / "log"
            part.touch()
            self._engine.copy_into(part)
            copy = Log(part, opening.at(part), clock=self._clock, new_uid=self._new_uid)
            try:
                with copy.writing() as writer:
                    yield writer
            finally:
                copy.close()

    def _connection(self, *, write: bool) -> AbstractContextManager[Connection]:
        return self._engine.connection(write=write)

    def file_path(self, sha256: str) -> Path:
        """Path of a file kept with an entry. Raises LogError if missing."""
        path = Attachments(folder_of(self.where)).path(sha256)
        if path.name != sha256 or not path.is_file():  # a name with a slash in it is nobody's hash
            raise LogError(
                f"A file of the log is missing: {path}.",
                "It belongs beside the log, in the folder of the same name.",
                "Copy the folder from a backup; finishlog check lists every missing file.",
            )
        return path

    def backup(self, target: str | Path) -> None:
        """A verified copy with its files (`<target>.files`), even while others write.

        Raises LogError if the target exists, or if a file of the log could not be copied.
        """
        self._engine.backup(header.place(target))

    def check(self) -> CheckReport:
        """Check the whole log and all its files, and compare the projections with their source."""
        from finishlog.store.check import check

        try:
            with self._connection(write=False) as connection:
                return check(connection, Attachments(folder_of(self.where)))
        except UnicodeDecodeError:
            raise header.damaged(self.where, "Texts in it are noise.") from None

    def others_wrote(self) -> bool:
        """Whether another program wrote since the last call; the first call starts watching."""
        return self._engine.others_wrote()

    def close(self) -> None:
        """Release the file. The log can be opened again."""
        self._engine.close()


def _compute(connection: Connection) -> None:
    from finishlog.store.search import projections

    projections.refresh_due(connection)


def _own_folder(target: Path) -> None:
    """Creates our own data folder with the first log, but no other folder."""
    from finishlog import paths

    if target == paths.default_log():
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise cannot_be_made(target, "log", error) from None
