"""`sheet JOB NAME`: one sheet as PDF; and the options with which `match` writes the sheets of its plan."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import say, say_json

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.papers.make import PlanSheet
    from finishlog.records.plan import Plan

PLAN_SHEETS: tuple[PlanSheet, ...] = ("match", "batch", "daycard")
SHEETS = ("customer", "history", *PLAN_SHEETS)
PAPERS = ("letter", "a4")


def register(commands: Any) -> None:
    """Add `sheet` to the commands."""
    sheet = commands.add_parser(
        "sheet",
        help="write a job's sheet as PDF",
        description="Write a job's sheet as PDF. customer: what was done, how the color moves, care. history: "
        "everything, for the file. match, batch (for the plant), daycard (for the crew): of a job planned with "
        "match --save.",
        epilog="Example: finishlog sheet hill-patio customer --pdf customer.pdf",
    )
    sheet.add_argument("job", metavar="JOB", help="the job's handle, or the start of it")
    sheet.add_argument("name", metavar="NAME", choices=SHEETS, help=", ".join(SHEETS))
    add_paper(sheet, needed=True)
    sheet.add_argument("--json", action="store_true", help="one JSON object")
    sheet.set_defaults(run=run_sheet)


def add_paper(parser: argparse.ArgumentParser, *, needed: bool = False) -> None:
    """The options of every command that writes a PDF."""
    parser.add_argument("--pdf", metavar="FILE", required=needed, help="the file to write")
    parser.add_argument("--paper", choices=PAPERS, help="paper size; default: letter")
    parser.add_argument("--force", action="store_true", help="replace FILE if it exists")


def add_plan_sheets(parser: argparse.ArgumentParser) -> None:
    """The options with which `match` writes its plan as PDF."""
    add_paper(parser)
    parser.add_argument(
        "--sheet", choices=(*PLAN_SHEETS, "all"), help="which sheet goes into FILE; default: match"
    )


def check_plan_sheets(args: argparse.Namespace) -> None:
    """Options that need --pdf have it, and its FILE may be written. Raises InputError."""
    from finishlog.errors import InputError

    if args.pdf is not None:
        from finishlog.papers import files

        files.check(args.pdf, force=args.force)
        return
    for option in ("sheet", "paper", "force"):
        if getattr(args, option):
            raise InputError(f"--{option} is for a PDF.", where=f"--{option}", example="--pdf plan.pdf")


@contextmanager
def plan_pdf(args: argparse.Namespace, services: Services, plan: Plan) -> Iterator[str | None]:
    """The plan's sheets ready to be put into FILE, which happens when the block ends well; None: none asked for."""
    if args.pdf is None:
        yield None
        return
    from dataclasses import replace

    from finishlog.papers import files, make

    if args.save:
        plan = replace(plan, request=replace(plan.request, name=args.save.strip()))
    names: tuple[PlanSheet, ...] = PLAN_SHEETS if args.sheet == "all" else (args.sheet or "match",)
    made = make.plan_sheets(plan, names, make.look(services, args.units), args.paper or "letter")
    with files.new_file(args.pdf, made, force=args.force) as target:
        yield str(target)


def run_sheet(args: argparse.Namespace, services: Services) -> int:
    """`sheet`: one sheet of a job as PDF."""
    from finishlog.papers import files

    files.check(args.pdf, force=args.force)
    with services.log().reading() as log:
        handle = log.resolve(args.job)
    with files.new_file(args.pdf, _made(args, handle, services), force=args.force) as target:
        pass
    if args.json:
        say_json({"job": handle, "sheet": args.name, "file": str(target)})
    else:
        say(f"Sheet saved to {target}.")
    return 0


def _made(args: argparse.Namespace, handle: str, services: Services) -> bytes:
    from finishlog.desk.jobs import page
    from finishlog.desk.match import kept
    from finishlog.papers import make

    look, paper = make.look(services, args.units), args.paper or "letter"
    if args.name in PLAN_SHEETS:
        return make.plan_sheets(kept.plan_of(services, handle, args.units), (args.name,), look, paper)
    return make.job_sheet(page.lay_open(services, handle), args.name, look, paper)
