"""A log on disk: create, open, read, write, copy and check."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.errors import LogError, ServerAway
from finishlog.store.disk.attachments import Attachments, Files, folder_of
from finishlog.store.disk.check_memory import CheckMemory
from finishlog.store.disk.files import cannot_be_made
from finishlog.store.disk.leavings import sweep
from finishlog.store.disk.marks import Marks
from finishlog.store.engine import header, opening
from finishlog.store.engine.postgres.address import Address, place
from finishlog.store.engine.protocol import GIVE_UP_AFTER_S, Engine, Waiting
from finishlog.store.reader import Reader
from finishlog.store.schema import revisions
from finishlog.store.schema.prices import without_phones, without_prices

if TYPE_CHECKING:
    from finishlog.records.answers import KeptLearned
    from finishlog.store.check import CheckReport, Progress
    from finishlog.store.engine.restoring import PutBack
    from finishlog.store.mend import Mendable
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
        where: Path | Address,
        engine: Engine,
        *,
        clock: Clock,
        new_uid: NewUid,
        upgraded_from: Path | str | None = None,
        marked: bool = True,
        notices: tuple[str, ...] = (),
    ) -> None:
        """`marked`: whether what is written is noted outside the log too; not of a log without its name yet."""
        self.where = where
        self._marked = marked
        self.upgraded_from = upgraded_from
        """The copy of the log as it was before an upgrade (a path, or a schema of the server's), or None."""
        self.notices = notices
        """What opening it did, to be said once: a sentence each."""
        self.prices: Callable[[], bool] = lambda: True
        """Whether whoever reads here sees prices."""
        self.phones: Callable[[], bool] = lambda: True
        """Whether they see every customer's phone number, and so may find a job by one."""
        self._engine = engine
        self._clock = clock
        self._new_uid = new_uid

    @classmethod
    def create(
        cls, where: str | Path | Address, *, clock: Clock, new_uid: NewUid, fill: Fill | None = None
    ) -> Log:
        """Create and open a log, empty or filled by `fill`.

        Refuses an existing file. The log gets its name once complete, so even a killed program leaves
        nothing half-made.
        """
        target = place(where)
        if isinstance(target, Path):
            _own_folder(target)
        from finishlog.store.rights.roles import remake

        with opening.new(target, remake) as empty:
            with empty.failures():
                empty.make()
            if fill is not None:
                cls._filled(empty, fill, clock, new_uid)
        return cls.open(target, clock=clock, new_uid=new_uid)

    @classmethod
    def _filled(cls, engine: Engine, fill: Fill, clock: Clock, new_uid: NewUid) -> None:
        log = cls(engine.where, engine, clock=clock, new_uid=new_uid, marked=False)
        try:
            fill(log)
        finally:
            log.close()
        if not engine.settled():  # closing the last connection merges the WAL; a leftover would be lost
            raise LogError(f"Could not repair the log: {engine.where}.", "", "Try again.")

    @classmethod
    def open(
        cls,
        where: str | Path | Address,
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
        target = place(where)
        engine = opening.at(target, on_wait=on_wait, give_up_after_s=give_up_after_s)
        engine.require()
        if isinstance(target, Path):
            sweep(target)
        copy = engine.bring_up_to_date(_compute, upgrade=upgrade)
        notices = _notices(copy, engine.set_aside())
        return cls(target, engine, clock=clock, new_uid=new_uid, upgraded_from=copy, notices=notices)

    @staticmethod
    def put_back(
        copy: str | Path, where: str | Path, *, without_missing: bool = False, named: Path | None = None
    ) -> PutBack:
        """Verify a copy and put it in the place of a log, which is kept beside it. Raises LogError.

        `named` is what the user named it by, where that is not the copy itself.
        """
        from finishlog.store.engine.restoring import restore

        target = header.place(where)
        _own_folder(target)
        done = restore(header.place(copy), target, without_missing=without_missing, named=named)
        log = Log(target, opening.at(target), clock=lambda: datetime.now(UTC), new_uid=str)
        try:
            with suppress(LogError):  # older than its own identity: no mark was ever left
                log.accept()
        finally:
            log.close()
        return done

    def accept(self) -> None:
        """Going back was meant: the log is not behind what this machine saw written in its place."""
        from finishlog.store.checking_marks import Seen

        seen = Seen(self._marks(), self.identity(), accept=True)
        with self._connection(write=False) as connection:
            seen.missing(connection, [])

    def identity(self) -> str:
        """Which log this is; its copies share it. Raises LogError if it cannot be read."""
        from finishlog.store.sealing.identity import identity

        with self._connection(write=False) as connection:
            return identity(connection)

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """One consistent snapshot, unaffected by concurrent writes."""
        with self._connection(write=False) as connection:
            shown = connection if self.prices() else without_prices(connection)
            yield Reader(shown if self.phones() else without_phones(shown))

    @contextmanager
    def writing(self, *, alone: bool = False) -> Iterator[Writer]:
        """One unit of work, rolled back after any exception. `alone`: also after one of a part that was caught."""
        from finishlog.store.writer import Writer

        attachments: Files | None = None
        written = None
        try:
            with self._connection(write=True) as connection:
                attachments = self._engine.files(connection)
                try:
                    writer = Writer(connection, self._clock, self._new_uid, attachments, alone=alone)
                    yield writer
                    written = writer.finish()
                except BaseException:
                    attachments.forget()  # still locked: no one else can have named these files
                    raise
        except BaseException:
            if attachments is not None:
                self._forget_unnamed(attachments)
            raise
        if written is not None and self._marked:
            self._marks().add(written.uid, written.line())

    def was_written(self, error: ServerAway) -> bool | None:
        """Whether the write that ended in this error was written; None if the server cannot tell just now.

        It waits for the turn to write, as the server may still be committing.
        """
        return self._engine.was_written(error.write) if error.unsure else False

    def keep_learned(self, some: Sequence[KeptLearned], *, anew: bool = False) -> bool:
        """Keep parts of what was learned of a spot; where `anew`, instead of all others of it.

        It is a service, no fact: a log that cannot be written just now is left as it is, without waiting. Whether
        it was kept.
        """
        from finishlog.store.search import learned

        try:
            with self._engine.connection(write=True, wait=False) as connection:
                learned.keep(connection, some, anew=anew)
        except (LogError, DBAPIError):
            return False
        return True

    def _forget_unnamed(self, attachments: Files) -> None:
        """After a COMMIT that failed: the log itself says which files it names, under a new lock."""
        from finishlog.store.schema.tables_entry import FileRow

        if attachments.placed:
            with suppress(LogError, DBAPIError), self._connection(write=True) as connection:
                names = select(FileRow.sha256).where(FileRow.sha256.in_(attachments.placed))
                attachments.forget(set(connection.scalars(names)))

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
            engine = opening.at(part)
            copy = Log(part, engine, clock=self._clock, new_uid=self._new_uid, marked=False)
            try:
                with copy.writing() as writer:
                    yield writer
            finally:
                copy.close()

    def _connection(self, *, write: bool) -> AbstractContextManager[Connection]:
        return self._engine.connection(write=write)

    def file_path(self, sha256: str) -> Path:
        """Path of a file kept with an entry. Raises LogError if missing."""
        if isinstance(self.where, Address):
            return self._fetched(sha256)
        path = Attachments(folder_of(self.where)).path(sha256)
        if path.name != sha256 or not path.is_file():  # a name with a slash in it is nobody's hash
            raise LogError(
                f"A file of the log is missing: {path}.",
                "It belongs beside the log, in the folder of the same name.",
                "Copy the folder from a backup; finishlog check lists every missing file.",
            )
        return path

    def _fetched(self, sha256: str) -> Path:
        """A file of a log on a server, in the cache of this machine. Raises LogError if missing."""
        from finishlog.paths import cache_folder

        cached = Attachments(cache_folder() / "files")
        cached.folder.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with self._connection(write=False) as connection:
            if cached.take(sha256, self._engine.files(connection).blocks(sha256)):
                return cached.path(sha256)
        raise LogError(
            f"A file of the log is missing: {sha256[:12]}….",
            "It belongs with the log: finishlog files says where.",
            "Restore a copy of it; finishlog check lists every missing file.",
        )

    @property
    def role(self) -> str | None:
        """Which of `finishlog.roles` the server gives who is connected; None of a file, which knows none."""
        return self._engine.role()

    @property
    def is_on_server(self) -> bool:
        """Whether it is in a database on a server, not in a file."""
        return isinstance(self.where, Address)

    @property
    def file(self) -> Path:
        """The log's file. Raises LogError for a log on a server, which has none."""
        if isinstance(self.where, Address):
            raise LogError(
                f"This is done with log files only: {self.where}.", "It is on a server.", "pg_dump copies it."
            )
        return self.where

    def backup(self, target: str | Path) -> None:
        """A verified copy with its files (`<target>.files`), even while others write.

        Raises LogError if the target exists, or if a file of the log could not be copied.
        """
        self._engine.backup(header.place(target))

    def check(self, progress: Progress | None = None, *, accept: bool = False) -> CheckReport:
        """Check the whole log and all its files, and compare the projections with their source.

        One that was stopped goes on from there. With `accept` the log as it is now is the one to go by:
        it does not matter what this machine saw written in its place before.
        """
        from finishlog.store.check import check
        from finishlog.store.checking_marks import Seen

        try:
            seen = Seen(
                self._marks(), self.identity(), accept=accept
            )  # before the snapshot: never ahead of it
            with self._connection(write=False) as connection:
                memory = CheckMemory(self._checks(seen.uid))
                return check(
                    connection,
                    self._engine.files(connection),
                    progress=progress,
                    memory=memory,
                    seen=seen,
                )
        except UnicodeDecodeError:
            raise header.damaged(self.where, "Texts in it are noise.") from None

    def mendable(self) -> Mendable:
        """What `mend` would do. Sound otherwise: see `check`."""
        from finishlog.store.mend import mendable

        with self._connection(write=False) as connection:
            where = self.where if isinstance(self.where, Path) else None
            return mendable(connection, self._engine.files(connection), where)

    def mend(self, found: Mendable) -> int:
        """Remove these leavings, but nothing that an entry names; make what is kept for the list anew."""
        from finishlog.store.mend import mend

        with self._connection(write=True) as connection:
            return mend(connection, found, self._engine.files(connection))

    def _marks(self) -> Marks:
        from finishlog.paths import state_folder

        return Marks(state_folder() / "marks", self.where)

    def _checks(self, uid: str) -> Path:
        from finishlog.paths import state_folder

        return Marks(state_folder() / "checks", self.where).path(uid).with_suffix(".json")

    def others_wrote(self) -> bool:
        """Whether another program wrote since the last call; the first call starts watching."""
        return self._engine.others_wrote()

    def close(self) -> None:
        """Release the file. The log can be opened again."""
        self._engine.close()


def _notices(copy: Path | str | None, aside: Path | None) -> tuple[str, ...]:
    place = f"in the schema {copy} of its database" if isinstance(copy, str) else f"at {copy}"
    upgraded = f"The log was upgraded; a copy of the old version is {place}."
    strange = f"Another log's entries lay beside this one; they were moved to {aside}."
    return (*((upgraded,) if copy else ()), *((strange,) if aside else ()))


def _compute(connection: Connection, older: str) -> None:
    """What an upgrade changed; of 20,000 jobs the projections alone take a minute, so only where they did change."""
    from finishlog.store.rights import roles
    from finishlog.store.sealing.keep import seal, seal_all
    from finishlog.store.search import projections, shelved

    if older >= revisions.PROJECTED:
        seal(connection)
    else:
        projections.refresh(connection, projections.all_jobs(connection))
        shelved.write_all(connection)
        seal_all(connection)
    roles.upgraded(connection)


def _own_folder(target: Path) -> None:
    """Creates our own data folder with the first log, but no other folder."""
    from finishlog import paths

    if target == paths.default_log():
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise cannot_be_made(target, "log", error) from None
