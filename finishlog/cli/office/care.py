"""`care`: reseals that are due, what the office does about them, the week plan, reminders out."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.options import add_part, part_of
from finishlog.cli.output import bullets, note, say, say_json, table
from finishlog.errors import InputError, naming

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from finishlog.cli.options import Part
    from finishlog.desk.due.care_list import Wish
    from finishlog.desk.record.record import Recorded
    from finishlog.desk.services import Services
    from finishlog.records.care import Book, CareState, Reseal, WeekPlan

_MORE = """\
  finishlog care --by 2026-08-31
  finishlog care hill-patio contacted --note "wants a Friday"
  finishlog care hill-patio booked --on 2026-08-14
  finishlog care hill-patio ask-again --on "in 6 months"
  finishlog care --plan --per-week 4 --keep
  finishlog care hill-patio bounced --note "moved away"
  finishlog care --ics reseals.ics --csv reseals.csv --letters letters.pdf --mail drafts
"""
_OUT = (
    ("ics", "FILE", "a reseal calendar; re-export to update"),
    ("csv", "FILE", "a table for mail merge"),
    ("letters", "FILE", "letters as PDF: reminders if due, confirmations if booked"),
    ("mail", "DIR", "the same as e-mail drafts, one file each"),
)
_WRITES = ("csv", "letters", "mail")
_FILES = ("paper", "force", "again", "thanks", *(option for option, *_ in _OUT))
"""Options for what to write."""
_MARKS = {
    "due": "○",
    "written": "□",
    "contacted": "◊",
    "booked": "●",
    "done": "√",
    "declined": "×",
    "ask_again": "~",
}


def register(commands: Any) -> None:
    """Add `care` to the commands."""
    care = commands.add_parser(
        "care",
        help="reseals due: book them, plan them, write reminders",
        description="Reseals due, by condition first, then by years. With a job, log what was\n"
        "done about it: due, written, contacted, booked, done, declined, ask-again; or what\n"
        "came of a reminder: bounced, refused. Nobody gets two reminders in a season.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    care.add_argument("job", metavar="JOB", nargs="?", help="the job's handle, or the start of it")
    care.add_argument("state", metavar="STATE", nargs="?", help="what was done about its reseal")
    care.add_argument("--by", metavar="DATE", help="windows that open by then; default: the next 12 months")
    care.add_argument(
        "--on",
        metavar="WHEN",
        help="booked for, done on, or ask again from: a day, or like 'in 6 months'",
    )
    care.add_argument("--note", metavar="TEXT", help="anything else")
    care.add_argument("--who", metavar="NAME", help="who did it")
    care.add_argument("--because", metavar="TEXT", help="why, if it is odd; kept with the entry")
    care.add_argument("--plan", action="store_true", help="spread the open reseals over weeks")
    care.add_argument("--per-week", metavar="N", help="the most per week, for --plan")
    care.add_argument("--keep", action="store_true", help="save the plan's days with the jobs")
    for option, metavar, text in _OUT:
        care.add_argument(f"--{option}", metavar=metavar, help=text)
    care.add_argument("--paper", choices=("letter", "a4"), help="paper size for the letters")
    care.add_argument("--force", action="store_true", help="replace existing files")
    care.add_argument("--again", action="store_true", help="include customers already written to this season")
    care.add_argument(
        "--thanks", action="store_true", help="thank customers whose reseal is done, and no one else"
    )
    add_part(care, "reseals")
    care.add_argument("--json", action="store_true", help="answer as one JSON list or object")
    care.set_defaults(run=run_care)


def run_care(args: argparse.Namespace, services: Services) -> int:
    """`care`: the reseals due, one job's, the week plan, or reminders written."""
    if args.job is not None:
        return _one_job(args, services)
    for option in ("on", "note", "who", "because"):
        if getattr(args, option) is not None:
            raise InputError(
                f"--{option} is for one job.", where=f"--{option}", example="care hill-patio booked"
            )
    if args.plan:
        return _plan(args, services)
    for option in ("per_week", "keep"):
        if getattr(args, option):
            raise InputError(
                "That is for the week plan.", where=f"--{option.replace('_', '-')}", example="--plan"
            )
    from finishlog.desk.due import care

    by, part = _day(args.by, "--by"), part_of(args)
    written = _write(args, services, by)
    held = care.book(services, by, limit=part.limit, offset=part.offset)
    if args.json:
        say_json([care.reseal_json(line) for line in held.lines])
    else:
        say(_book_text(held, part))
    for line in written:
        note(f"finishlog: {line}")
    return 0


def _day(text: str | None, where: str) -> date | None:
    from finishlog.units import read_date

    if text is None:
        return None
    with naming(where):
        return read_date(text)


def _on(text: str | None, state: CareState, services: Services) -> date | None:
    from finishlog.desk.due import care

    with naming("--on"):
        return None if text is None else care.read_on(text, state, services.clock(), services.zone)


def _said(args: argparse.Namespace, *options: str) -> bool:
    return any(getattr(args, option) not in (None, False) for option in options)


def _one_job(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.due import care

    if _said(args, "plan", "by", "per_week", "keep", "limit", "first", *_FILES):
        raise InputError("Log one job's reseal by itself, without lists and files.", where="JOB",
                         example="finishlog care hill-patio contacted")  # fmt: skip
    if args.state is None and _said(args, "on", "note", "who", "because"):
        raise InputError("What was done about it?", "Nothing saved.", where="STATE",
                         example="finishlog care hill-patio booked --on 2026-08-14")  # fmt: skip
    if args.state is None:
        return _show_one(args, services)
    done = _set(args, services)
    if args.json:
        from finishlog.cli.jobs.record import recorded_json

        say_json(recorded_json(done))
        return 0
    line = care.of_job(services, done.job)
    say(f"{done.job}  {done.sentence}")
    for warning in done.warnings:
        note(f"finishlog: {warning}")
    if line is not None:
        say(table([(_marked(line), f"{line.title}  {_remark(line, services.today())}")], indent=2))
    return 0


def _set(args: argparse.Namespace, services: Services) -> Recorded:
    from finishlog.desk.due import care, reminders

    if (back := reminders.read_came_back(args.state)) is not None:
        return reminders.came_back(services, args.job, back, note=args.note, person=args.who)
    state = care.read_state(args.state)
    return care.set_state(services, args.job, state, on=_on(args.on, state, services), note=args.note,
                          person=args.who, because=args.because)  # fmt: skip


def _show_one(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.due import care

    line = care.of_job(services, args.job)
    if line is None:
        raise InputError(f"{args.job} was never sealed, so there is nothing to reseal.", where="JOB")
    if args.json:
        say_json(care.reseal_json(line))
        return 0
    say(f"{line.title}  {_marked(line)}\n")
    say(table(_facts(line, args.units), indent=2))
    return 0


def _facts(line: Reseal, system: str) -> list[tuple[str, str]]:
    from finishlog.desk.said import written_words
    from finishlog.units import write, write_date

    rows = [("First", f"! {line.prepare_why}")] if line.prepare_why else []
    rows += [("Window", f"{write_date(line.due_from)} to {write_date(line.due_to)}"), ("Why", line.why)]
    if line.film is not None and line.film.dry_mil is not None:
        least = "at least " if line.film.at_least else "about "
        rows.append(("Film", least + write("film_mil", line.film.dry_mil, system)))
    elif line.film is not None:
        rows.append(("Film", "unknown: no gallons or solids logged"))
    rows += [("Note", line.note)] if line.note else []
    rows += [("Said before", line.said)] if line.said else []
    if line.last_written is not None:
        rows.append(("Sent", written_words(line.last_written)))
    return rows


def _write(args: argparse.Namespace, services: Services, by: date | None) -> list[str]:
    """The files that were asked for, all or none; what to say about each."""
    wanted = {option: name for option, *_ in _OUT if (name := getattr(args, option)) is not None}
    for option in ("again", "thanks"):
        if getattr(args, option) and not wanted.keys() & set(_WRITES):
            raise InputError(
                "Nobody to write to that way.", where=f"--{option}", example="--letters letters.pdf"
            )
    if args.again and args.thanks:
        raise InputError("Use one or the other.", where="--again, --thanks", example="--thanks")
    if not wanted:
        if args.paper or args.force:
            raise InputError("No file to write.", where="--paper, --force", example="--letters letters.pdf")
        return []
    from finishlog.desk.due import care
    from finishlog.papers.reminders import send

    held = care.book(services, by)
    wish: Wish = "again" if args.again else "thanks" if args.thanks else "new"
    return send.write(services, held, wanted, paper=args.paper or "letter", force=args.force, wish=wish)


def _book_text(held: Book, part: Part) -> str:
    from finishlog.units import MONTHS

    parts = [held.sentence]
    for year, month in dict.fromkeys(line.month for line in held.lines):
        rows = [(_marked(line), line.title, _remark(line, held.today)) for line in held.of_month(year, month)]
        parts.append(f"{MONTHS[month - 1]} {year}\n{table(rows, indent=2)}")
    parts += [told] if (told := part.said(len(held.lines), held.total)) else []
    return "\n\n".join(parts)


def _marked(line: Reseal) -> str:
    return f"{_MARKS[line.state]} {line.state.replace('_', ' ')}"


def _remark(line: Reseal, today: date) -> str:
    from finishlog.desk.said import written_words
    from finishlog.desk.words import month
    from finishlog.units import write_date, write_weekday

    if line.left_alone:
        return "wants no reminders"
    day = write_weekday(line.on, today) if line.on else ""
    before = "planned for " if line.planned else "moved to " if line.moved else ""
    first = f"! {line.prepare_why}" if line.prepare_why and line.open else ""
    parts = [first, f"{before}{day}", line.note or "", line.said or ""]
    parts += [written_words(line.last_written)] if line.last_written else []
    if not any(parts):
        parts = [
            f"window {month(line.due_from)} to {month(line.due_to)}, sealed {write_date(line.sealed_on)}"
        ]
    return "; ".join(part for part in parts if part)


def _plan(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.due import care

    if _said(args, "limit", "first"):
        raise InputError(
            "The plan is always shown whole.", where="--limit, --from", example="--plan --by 2026-08-31"
        )
    if _said(args, *_FILES):
        raise InputError("The plan writes no file.", "Keep it first, then write the file without --plan.",
                         where="--plan", example="finishlog care --plan --keep")  # fmt: skip
    made = care.plan(services, _day(args.by, "--by"), per_week=_per_week(args.per_week), progress=_progress())
    changed = care.keep_plan(services, made) if args.keep else 0
    if args.json:
        say_json(care.plan_json(made))
    else:
        say(_plan_text(made, services.today()))
    if args.keep:
        note(f"finishlog: the day of {changed} {'job' if changed == 1 else 'jobs'} was kept.")
    return 0


def _per_week(text: str | None) -> int | None:
    from finishlog.units import read_count

    if text is None:
        return None
    with naming("--per-week"):
        return read_count(text, high=1000)


def _progress() -> Callable[[int, int], None]:
    """Says how far it is where that takes long; nothing of a short one."""
    import sys
    from time import monotonic

    began = monotonic()

    def tell(done: int, total: int) -> None:
        if monotonic() - began > 1 and sys.stderr.isatty():
            note(f"finishlog: {done} of {total} planned…")

    return tell


def _plan_text(made: WeekPlan, today: date) -> str:
    from finishlog.units import write_weekday

    parts = [made.how[0]]
    for week in made.weeks:
        rows = [
            (
                "●" if visit.fixed else "!" if visit.outside else "○",
                write_weekday(visit.on, today),
                visit.title,
                visit.why,
            )
            for visit in week.visits
        ]
        full = "  full" if week.full else ""
        parts.append(f"Week of {write_weekday(week.monday, today)}{full}\n{table(rows, indent=2)}")
    if made.left:
        parts.append("No room\n" + table(made.left, indent=2))
    return "\n\n".join((*parts, bullets(made.how[1:])))
