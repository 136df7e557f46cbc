"""`new`, `backup`, `restore`, `check`: start a log, copy it safely, put a copy back, say how it is."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishlog.cli.logs.mending import CHECK_STOPPED, checking, mend
from finishlog.cli.logs.telling import Telling, without_missing
from finishlog.cli.output import say, say_json
from finishlog.errors import InputError
from finishlog.plain import visible

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Log


def register(commands: Any) -> None:
    """Add `new`, `backup`, `restore` and `check` to the commands."""
    new = commands.add_parser(
        "new",
        help="start a log",
        description="Start an empty log.",
        epilog="Example: finishlog new shop.finishlog",
    )
    new.add_argument("path", nargs="?", help="where; default: --log, FINISHLOG_LOG or your data folder")
    new.set_defaults(run=run_new)

    backup = commands.add_parser(
        "backup",
        help="copy the log safely, even in use",
        description="Copy the log with its photos and files, even while it is in use; the copy is verified. "
        "A name that ends in .zip makes one archive file for a stick in the drawer. Of a log on a server it makes "
        "the same file; dumps by the hour and a second server are its own tools' to make: pg_dump, replicas.",
        epilog="Example: finishlog backup shop.zip",
    )
    backup.add_argument("file", help="the copy to make; must not exist")
    backup.set_defaults(run=run_backup)

    restore = commands.add_parser(
        "restore",
        help="restore the log from a copy",
        description="Verify a copy (a backup, its .zip or a daily copy), then put it in the log's place with "
        "its photos and files. The old log is kept beside it, under a dated name; on a server as a schema of that "
        "name. Close the log everywhere first. Without COPY: lists this log's copies on this machine.",
        epilog="Example: finishlog --log shop.finishlog restore copy.finishlog",
    )
    restore.add_argument("file", metavar="COPY", nargs="?", help="the copy; if omitted, lists them")
    without_missing(restore, "restore even if the copy lacks files")
    restore.set_defaults(run=run_restore)

    check = commands.add_parser(
        "check",
        help="check the log",
        description="Read the whole log and its files: is every entry as it was logged, and is none missing? "
        "It changes nothing. Ctrl+C stops it; the next check resumes there.",
        epilog="Examples: finishlog --log shop.finishlog check\n"
        "  finishlog check --mend         list what was left behind, and what would be rebuilt\n"
        "  finishlog check --mend --yes   do it; a file that an entry names is never removed\n"
        "  finishlog check --accept       you restored an older copy on purpose",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    check.add_argument("--json", action="store_true", help="one JSON object")
    check.add_argument(
        "--mend",
        action="store_true",
        help="list files of no entry, half-written ones (.part), and jobs whose list is out of date",
    )
    check.add_argument("--yes", action="store_true", help="with --mend: remove and rebuild what is listed")
    check.add_argument("--accept", action="store_true", help="accept the log as it is now")
    check.set_defaults(run=run_check)


def run_new(args: argparse.Namespace, services: Services) -> int:
    """`new`: an empty log."""
    log = services.make_log(args.path or args.log)
    say(f"A new log is at {log.where}.")
    log.close()
    return 0


def run_backup(args: argparse.Namespace, services: Services) -> int:
    """`backup`: a verified copy of the log, even in use."""
    from finishlog.desk.exchange import keeping

    keeping.backup_to(services, args.file)
    say(f"The log is copied to {args.file}, and the copy verified.")
    return 0


def run_restore(args: argparse.Namespace, services: Services) -> int:
    """`restore`: a copy in the log's place."""
    if args.file is None:
        return _list_copies(args, services)
    assert services.put_back
    done = services.put_back(Path(args.file), args.without_missing)
    files = "no files" if not done.files else "1 file" if done.files == 1 else f"{done.files:,} files"
    say(f"Restored {done.where} from {args.file}, with {files}.")
    if done.missing:
        say(f"{done.missing:,} of its files are missing; finishlog check lists them.")
    if done.before:
        say(f"The old log is kept {'at' if isinstance(done.before, Path) else 'as'} {done.before}.")
    return 0


def _list_copies(args: argparse.Namespace, services: Services) -> int:
    """The copies of this log, the newest first."""
    from finishlog.desk.exchange import copies

    assert services.where
    log = services.where()
    found = copies.known(log)
    if not found:
        raise InputError(f"No copy of {log} is known on this machine.", example="finishlog restore COPY.zip")
    say(visible(f"Copies of {log}:"))
    for day, path in found:
        say(visible(f"  {day}  {path}"))
    named = f"--log {shlex.quote(args.log)} " if args.log else ""
    say(visible(f"To restore one: finishlog {named}restore {shlex.quote(str(found[0][1]))}"))
    return 0


def engine_of(log: Log) -> str:
    """The name of what keeps the log."""
    return "PostgreSQL" if log.is_on_server else "SQLite"


def run_check(args: argparse.Namespace, services: Services) -> int:
    """`check`: whether the log is sound; 3 if it is not."""
    from finishlog.desk.exchange import copies

    log = services.log()
    with Telling(checking, CHECK_STOPPED) as telling:
        report = log.check(telling, accept=args.accept)
    last, remark = copies.last(services), copies.remark(services)
    if args.json:
        say_json(
            {
                "ok": report.ok,
                "log": str(services.log().where),
                "jobs": report.jobs,
                "entries": report.entries,
                f"{engine_of(log).lower()}_version": report.engine_version,
                "problems": list(report.problems),
                "notes": list(report.notes),
                "last_copy": last and last.isoformat(),
            }
        )
    else:
        count = len(report.problems)
        found = f"The log has {count} problem{'s' if count > 1 else ''}."
        say("The log is sound." if report.ok else found)
        say(f"{report.jobs} jobs, {report.entries} entries, {engine_of(log)} {report.engine_version}.")
        for line in (*report.problems, *report.notes):
            say(f"  {line}")
        say(f"Last copy: {last}." if last else "No copy of this log yet: finishlog backup FILE.")
        if remark:
            say(visible(remark))
        if not (report.ok or report.mendable or log.is_on_server):
            where = shlex.quote(str(log.where))
            say(visible(f"What you can do: finishlog --log {where} restore lists its copies;"))
            say(visible(f"finishlog rescue {where} NEW makes a new log of all that can be read."))
    if args.mend:
        return mend(log, report, yes=args.yes)
    return 0 if report.ok else 3
