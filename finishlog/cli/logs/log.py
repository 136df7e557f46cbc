"""`new`, `backup`, `check`: start a log, copy it safely, say how it is."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import say, say_json
from finishlog.plain import visible

if TYPE_CHECKING:
    from finishlog.desk.services import Services


def register(commands: Any) -> None:
    """Add `new`, `backup` and `check` to the commands."""
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
        "A name that ends in .zip makes one archive file for a stick in the drawer.",
        epilog="Example: finishlog backup shop.zip",
    )
    backup.add_argument("file", help="the copy to make; must not exist")
    backup.set_defaults(run=run_backup)

    check = commands.add_parser(
        "check",
        help="check the log",
        description="Read the whole log and its files, and report any problems. Nothing is changed.",
        epilog="Example: finishlog --log shop.finishlog check",
    )
    check.add_argument("--json", action="store_true", help="one JSON object")
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


def run_check(args: argparse.Namespace, services: Services) -> int:
    """`check`: whether the log is sound; 3 if it is not."""
    from finishlog.desk.exchange import copies

    report = services.log().check()
    last, remark = copies.last(services), copies.remark(services)
    if args.json:
        say_json(
            {
                "ok": report.ok,
                "log": str(services.log().where),
                "jobs": report.jobs,
                "entries": report.entries,
                "sqlite_version": report.engine_version,
                "problems": list(report.problems),
                "notes": list(report.notes),
                "last_copy": last and last.isoformat(),
            }
        )
    else:
        say("The log is sound." if report.ok else f"The log has {len(report.problems)} problems.")
        say(f"{report.jobs} jobs, {report.entries} entries, SQLite {report.engine_version}.")
        for line in (*report.problems, *report.notes):
            say(f"  {line}")
        say(f"Last copy: {last}." if last else "No copy of this log yet: finishlog backup FILE.")
        if remark:
            say(visible(remark))
    return 0 if report.ok else 3
