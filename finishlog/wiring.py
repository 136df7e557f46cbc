"""The composition root: the one place that puts the parts together. Nothing is made at import."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

from finishlog.errors import FinishlogError, InputError

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from finishlog.desk.services import Services
    from finishlog.records.demo import DemoStart
    from finishlog.store import Log
    from finishlog.store.archive import Restored

NEW_UID: Callable[[], str] = lambda: uuid4().hex  # noqa: E731


def run(argv: Sequence[str]) -> int:
    """Parse, build the services, run; failures become one line and their exit status."""
    from finishlog.cli import main as cli

    _tame_output()
    try:
        args = cli.parse(argv)
        services = build(args.log)
        try:
            return cli.run(args, services, Screens())
        finally:
            services.close()
    except FinishlogError as failure:
        cli.complain(failure)
        return failure.exit_status
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("interrupted", file=sys.stderr)
        return 130


class Screens:
    """How a command opens the screens, so that the command line need not know Textual."""

    def open(self, services: Services, demo: DemoStart | None = None) -> int:
        from finishlog.tui.app import FinishlogApp

        services.on_wait = lambda: None  # the screens say it themselves
        app = FinishlogApp(services, demo=demo)
        app.run()
        return app.return_code or 0


def build(log: str | None) -> Services:
    """The services for one log: `--log`, else FINISHLOG_LOG, else the one in the user's data folder."""
    from finishlog.desk.services import Services

    named = log or os.environ.get("FINISHLOG_LOG") or None
    clock = _clock()
    services = Services(
        open_log=lambda: open_log(_where(named), clock, lambda: services.on_wait()),
        look_at_log=lambda: _look_at(_where(named)),
        has_log=lambda: named is not None or Path(_where(None)).exists(),
        make_log=lambda where: make_log(where or _where(named), clock),
        restore_log=lambda folder, where: restore_log(folder, where or Path(_where(named))),
        clock=clock,
        find_zone=_zone,
    )
    return services


def open_log(where: str, clock: Callable[[], datetime], on_wait: Callable[[], None]) -> Log:
    from finishlog.store import Log

    return Log.open(where, clock=clock, new_uid=NEW_UID, on_wait=on_wait)


def _look_at(where: str) -> None:
    from finishlog.store import header

    header.require_log(header.place(where))


def make_log(where: str, clock: Callable[[], datetime], new_uid: Callable[[], str] = NEW_UID) -> Log:
    from finishlog.store import Log

    return Log.create(where, clock=clock, new_uid=new_uid)


def restore_log(folder: Path, where: Path) -> Restored:
    from finishlog import paths
    from finishlog.store import archive

    if where == paths.default_log():
        where.parent.mkdir(parents=True, exist_ok=True)
    return archive.restore(folder, where)


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
    try:
        moment = datetime.fromisoformat(fixed)
    except ValueError:
        raise InputError(
            f"{fixed!r} is no date and time.", where="FINISHLOG_NOW", example="2026-06-16T07:40-05:00"
        ) from None
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
    """A terminal that cannot show ² gets a question mark, not a traceback."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
