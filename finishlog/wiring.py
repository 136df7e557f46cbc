"""The composition root: the one place that puts the parts together. Nothing is made at import."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from finishlog.errors import FinishlogError, InputError, LogError, ServerAway

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from finishlog.desk.services import Services
    from finishlog.records.answers import DemoStart
    from finishlog.settings import Machine
    from finishlog.store import Log
    from finishlog.store.archive.export import Restored
    from finishlog.store.engine.postgres.address import Address
    from finishlog.store.engine.restoring import PutBack


def _uid() -> str:
    from uuid import uuid4

    return uuid4().hex


NEW_UID: Callable[[], str] = _uid


def run(argv: Sequence[str]) -> int:
    """Parse, build the services, run; failures become one line and their exit status."""
    from finishlog.cli import main as cli

    # read when numpy is first loaded: on matrices as small as ours its threads cost more than they save
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    _tame_output()
    try:
        status = _answer(argv)
        sys.stdout.flush()  # here, where a full disk or a closed pipe can still be said
        return status
    except FinishlogError as failure:
        cli.complain(failure)
        return failure.exit_status
    except BrokenPipeError:
        _drop(sys.stdout)
        return 0
    except KeyboardInterrupt:
        cli.tell("interrupted")
        return 130
    except Exception as fault:
        if os.environ.get("FINISHLOG_TRACEBACK"):
            raise
        _drop(sys.stdout)
        cli.own_up(fault)
        return 1
    finally:
        try:
            sys.stderr.flush()
        except OSError:
            _drop(sys.stderr)


def _answer(argv: Sequence[str]) -> int:
    from finishlog.cli import main as cli

    try:
        args = cli.parse(argv)
    except SystemExit as told:  # --help and --version have said it
        return int(told.code or 0)
    services = build(args.log)
    try:
        return cli.run(args, services, Screens(args.log))
    finally:
        services.close()


class Screens:
    """How a command opens the screens, so that the command line need not know Textual."""

    def __init__(self, log: str | None) -> None:
        self._log = log

    def load(self) -> None:
        """Imports the screens ahead of their opening."""
        import gc

        gc.disable()  # nothing that is being imported is garbage; the first frame comes sooner
        try:
            import finishlog.tui.app  # noqa: F401
        finally:
            gc.enable()

    def open(self, services: Services, demo: DemoStart | None = None, units: str | None = None) -> int:
        """Runs until the user quits; the exit code."""
        from finishlog import paths, settings
        from finishlog.desk.exchange import copies

        self.load()
        from finishlog.cli.waiting import signals_unwind
        from finishlog.tui.app import FinishlogApp
        from finishlog.tui.running import terminal

        machine, notice = settings.read(paths.settings_file())
        notices = [notice] if notice else []
        services.on_notice = notices.append
        if guest := _guest():
            return _shown_to(guest, services, machine)
        if demo is None:
            machine = _remember(services, machine, self._log)
        app = FinishlogApp(
            services,
            demo=demo,
            machine=machine,
            keep=keep_settings,
            units=units,
            notice=" ".join(notices),
            copy=None if demo else lambda: copies.at_opening(services, copy=machine.copies),
        )
        services.on_notice = app.note
        with signals_unwind(), terminal.given_back():
            app.run()
        return app.return_code or 0


def _guest() -> str:
    """The role of who opens the screens in a browser, as the server that started them says."""
    from finishlog.roles import ROLES

    guest = os.environ.get("FINISHLOG_VISITOR", "")
    if guest and guest not in ROLES:
        raise InputError(f"“{guest}” is no role.", where="FINISHLOG_VISITOR", example="office")
    return guest


def _shown_to(guest: str, services: Services, machine: Machine) -> int:
    """The screens for a visitor: this machine's settings, last log and copies are none of theirs."""
    from dataclasses import replace

    from finishlog.cli.waiting import signals_unwind
    from finishlog.tui.app import FinishlogApp
    from finishlog.tui.running import parent

    services.guest = guest
    parent.end_with(os.environ.get("FINISHLOG_PARENT", ""))
    app = FinishlogApp(services, machine=replace(machine, who=guest))
    services.on_notice = app.note
    with signals_unwind():
        app.run()
    return app.return_code or 0


def _remember(services: Services, machine: Machine, log: str | None) -> Machine:
    """The log that is opened is the last one from now on. Where none is named and none made, the last is opened."""
    from dataclasses import replace

    from finishlog.store.engine.postgres.address import is_address

    last = machine.last_log
    if not services.has_log():
        if last and (is_address(last) or Path(last).exists()):
            services.use(open_log(last, services.clock, lambda: services.on_wait()))
        return machine
    where = _where(_named(log))
    if not is_address(where):
        where = os.path.abspath(where)
    if last == where:
        return machine
    machine = replace(machine, last_log=where)
    with suppress(LogError):  # a folder that cannot be written is no reason not to work
        keep_settings(machine)
    return machine


def keep_settings(machine: Machine) -> None:
    """Write the settings of this machine. Raises LogError."""
    from finishlog import paths, settings

    where = paths.settings_file()
    try:
        settings.write(where, machine)
    except OSError as failure:
        raise LogError("This machine's settings cannot be saved.", f"{failure.strerror or failure}.",
                       f"Check that {where.parent} is writable.") from None  # fmt: skip


def _who() -> str:
    """A person at a machine, as the machine names both."""
    user = os.environ.get("USER") or os.environ.get("USERNAME") or "someone"
    machine = os.uname().nodename if hasattr(os, "uname") else os.environ.get("COMPUTERNAME", "")
    return f"{user}@{machine}"


def build(log: str | None) -> Services:
    """The services for one log: `--log`, else FINISHLOG_LOG, else the one in the user's data folder."""
    from finishlog.desk.services import Services

    named = _named(log)
    clock = _clock()

    def now() -> datetime:
        return services.clock()

    services = Services(
        open_log=lambda: open_log(_where(named), now, lambda: services.on_wait()),
        look_at_log=lambda: _look_at(_where(named)),
        has_log=lambda: named is not None or Path(_where(None)).exists(),
        make_log=lambda where, fill=None: make_log(where or _where(named), now, fill),
        where=lambda: _place(_where(named)),
        put_back=lambda copy, without: _put_back(copy, _where(named), without),
        restore_log=lambda folder, where: restore_log(folder, where or _where(named)),
        clock=clock,
        who=_who(),
        find_zone=_zone,
        role_here=lambda: _who_works_here(services, _where(named)),
    )
    return services


def _who_works_here(services: Services, where: str) -> str:
    """As this machine's settings say, unless the log's server does."""
    from finishlog import paths, settings
    from finishlog.store.engine.postgres.address import is_address

    if is_address(where) and (said := _role_there(services, where)):
        return said
    return settings.read(paths.settings_file())[0].who


def _role_there(services: Services, where: str) -> str | None:
    """As the log's server says; whoever restores where there is no log yet will be its owner."""
    from finishlog.roles import OWNER
    from finishlog.store.engine.postgres import address, making

    try:
        return services.log().role
    except ServerAway:
        raise
    except LogError:
        if making.has_log(address.parsed(where)):
            raise
        return OWNER


def open_log(where: str, clock: Callable[[], datetime], on_wait: Callable[[], None]) -> Log:
    """Opens an existing log; LogError if there is none or it is damaged."""
    from finishlog.store import Log

    return Log.open(where, clock=clock, new_uid=NEW_UID, on_wait=on_wait)


def _look_at(where: str) -> None:
    from finishlog.store.engine import header, opening
    from finishlog.store.engine.postgres import address

    place = address.place(where)
    if isinstance(place, Path):
        header.require_log(place)
    else:
        opening.at(place).require()


def _place(where: str) -> Path | Address:
    """The path or address of a log. Raises LogError."""
    from finishlog.store.engine.postgres import address

    return address.parsed(where) if address.is_address(where) else Path(where).expanduser()


def make_log(where: str, clock: Callable[[], datetime], fill: Callable[[Log], None] | None) -> Log:
    """Creates a log and fills it before it appears at its path."""
    from finishlog.store import Log

    return Log.create(where, clock=clock, new_uid=NEW_UID, fill=fill)


def restore_log(folder: Path, where: Path | str) -> Restored:
    """Rebuilds a log from an archive folder; an existing log is never overwritten."""
    from finishlog import paths
    from finishlog.store.archive import export
    from finishlog.store.engine.postgres import address

    target = address.place(where)
    if isinstance(target, Path) and target == paths.default_log():
        target.parent.mkdir(parents=True, exist_ok=True)
    return export.restore(folder, target)


def _put_back(copy: Path, where: str, without_missing: bool) -> PutBack:
    from finishlog import paths
    from finishlog.store import Log
    from finishlog.store.archive import zipped
    from finishlog.store.engine import header
    from finishlog.store.engine.postgres import address

    if address.is_address(where):
        return _put_back_there(header.place(copy), address.parsed(where), without_missing)
    target, named = Path(os.path.realpath(header.place(where))), header.place(copy)
    if header.place(where) == paths.default_log():
        target.parent.mkdir(parents=True, exist_ok=True)
    with zipped.as_log(named, target) as source:
        return Log.put_back(source, where, without_missing=without_missing, named=named)


def _put_back_there(copy: Path, where: Address, without_missing: bool) -> PutBack:
    import tempfile

    from finishlog.store.archive import copying, zipped

    with (
        tempfile.TemporaryDirectory(prefix="finishlog-") as folder,
        zipped.as_log(copy, Path(folder) / "log.finishlog") as source,
    ):
        return copying.put_back(source, where, without_missing=without_missing, named=copy)


def _named(log: str | None) -> str | None:
    return log or os.environ.get("FINISHLOG_LOG") or None


def _where(named: str | None) -> str:
    if named is not None:
        return named
    from finishlog import paths

    return str(paths.default_log())


def _clock() -> Callable[[], datetime]:
    """The machine's clock, or the fixed one that FINISHLOG_NOW names (ISO 8601 with an offset)."""
    fixed = os.environ.get("FINISHLOG_NOW")
    if not fixed:
        return lambda: datetime.now(UTC)
    example = "2026-06-16T07:40-05:00"
    try:
        moment = datetime.fromisoformat(fixed)
    except ValueError:
        raise InputError(
            f"{fixed!r} is not a date and time.", where="FINISHLOG_NOW", example=example
        ) from None
    if not 1900 <= moment.year <= 2199:
        cause = "Years run from 1900 to 2199."
        raise InputError(f"{fixed!r} is out of range.", cause, where="FINISHLOG_NOW", example=example)
    moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return lambda: moment


def _zone() -> ZoneInfo:
    """The zone of this machine; UTC where it cannot be told."""
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    import tzlocal

    try:
        return ZoneInfo(tzlocal.get_localzone_name())
    except (ZoneInfoNotFoundError, ValueError, LookupError):
        return ZoneInfo("UTC")


def _tame_output() -> None:
    """A terminal that cannot show ² gets a question mark, not a traceback; a closed stream is none."""
    sys.stdin = sys.stdin or os.fdopen(os.open(os.devnull, os.O_RDONLY))
    sys.stdout = sys.stdout or os.fdopen(os.open(os.devnull, os.O_WRONLY), "w")
    sys.stderr = sys.stderr or os.fdopen(os.open(os.devnull, os.O_WRONLY), "w")
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _drop(stream: TextIO) -> None:
    """What is still to be written is thrown away, so that the interpreter does not stumble over it at its end."""
    with suppress(OSError, ValueError):  # a test's stream is no file
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
