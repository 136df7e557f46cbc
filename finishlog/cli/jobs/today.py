"""`today`: what's due over all open jobs; put off, or let be. What is done is logged with `record`."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import bullets, say, say_json, table
from finishlog.desk.plain_data import Json, pick
from finishlog.errors import InputError, naming

if TYPE_CHECKING:
    from datetime import datetime

    from finishlog.desk.record.record import Recorded
    from finishlog.desk.services import Services
    from finishlog.records.due import Ahead, Today, TodayLine

MARKS = {"open": "●", "slipped": "!", "opens": "○"}

_MORE = """\
Log what was done with record: finishlog record hill-patio rinse --about 7:30a
Slipped work drops off the list after 30 days (a setting); --all still shows it. A
reseal shows in the last months of its window and stays until it is done.

  finishlog today --put-off hill-patio rinse --until "tomorrow 7a"
  finishlog today --not-for hill-patio "photo 7"
Both are job entries: finishlog undo hill-patio undoes them.
"""


def register(commands: Any) -> None:
    """Add `today` to the commands."""
    today = commands.add_parser(
        "today",
        help="what's due",
        description="Work due on all open jobs: open, first to close on top; slipped; opening next.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    today.add_argument("--by", metavar="DATE", help="show what opens by then; default: 3 weeks")
    today.add_argument("--all", action="store_true", help="also work that slipped long ago")
    today.add_argument("--put-off", nargs=2, metavar=("JOB", "WHAT"), help="put a line off, with --until")
    today.add_argument("--until", metavar="WHEN", help="tomorrow, Fri, in 2 days, Jun 20, tomorrow 7a")
    today.add_argument("--not-for", nargs=2, metavar=("JOB", "WHAT"), help="take a line off this job's list")
    today.add_argument("--ahead", metavar="JOB", help="what to settle before a planned pour, however far off")
    today.add_argument("--area", metavar="NAME", help="which area, if a job has several such lines")
    today.add_argument("--who", metavar="WHO", help="who says so")
    today.add_argument(
        "--json", action="store_true", help="a JSON list; of --put-off and --not-for the entry"
    )
    today.set_defaults(run=run)


def run(args: argparse.Namespace, services: Services) -> int:
    """`today`: what is due, a line put off or dropped, or what to settle before a pour."""
    if args.put_off and args.not_for:
        raise InputError("--put-off and --not-for do not go together.", "Pick one.", where="--not-for")
    acts = bool(args.put_off or args.not_for)
    if args.ahead is not None and (acts or args.by or args.all or args.until or args.area or args.who):
        raise InputError("Use --ahead alone.", where="--ahead", example="--ahead hill-patio")
    if args.ahead is not None:
        return _look_ahead(args, services)
    if acts and (args.by or args.all):
        raise InputError("--by and --all are for the list.", "Nothing saved.",
                         where="--by" if args.by else "--all", example="finishlog today --all")  # fmt: skip
    if acts:
        return _acted(_act(args, services), args.json)
    for option in ("until", "area", "who"):
        if getattr(args, option) is not None:
            raise InputError(f"--{option} belongs to --put-off or --not-for.", where=f"--{option}",
                             example='--put-off hill-patio rinse --until "tomorrow 7a"')  # fmt: skip
    from finishlog.desk.due import today

    now = services.clock()
    found = today.today(services, now, until=_by(args.by, services), all=args.all)
    if args.json:
        say_json([line_json(line) for line in found.lines])
    else:
        say(text(found))
    return 0


def _look_ahead(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.due import ahead

    found = ahead.ahead(services, args.ahead)
    if args.json:
        say_json(found)
    else:
        say(ahead_text(found))
    return 0


def _by(text: str | None, services: Services) -> datetime | None:
    """The end of the day that was said, on the shop's clock."""
    from datetime import datetime, time, timedelta

    from finishlog.units import read_date

    if text is None:
        return None
    with naming("--by"):
        day = read_date(text)
    if day < services.today():
        raise InputError(f"{day} is past.", where="--by", example=f"--by {services.today()}")
    return datetime.combine(day + timedelta(days=1), time(), services.zone)


def _act(args: argparse.Namespace, services: Services) -> Recorded:
    from finishlog.desk.due import today

    if args.not_for:
        if args.until is not None:
            raise InputError(
                "--not-for has no --until.", "It is for good; --put-off is for a while.", where="--until"
            )
        return today.not_for_this_job(services, _line(args.not_for, args.area, services), args.who)
    if args.until is None:
        raise InputError("Until when?", where="--until", example='--until "tomorrow 7a"')
    line = _line(args.put_off, args.area, services)
    return today.put_off(services, line, _until(args.until, line, services), args.who)


def _line(named: list[str], area: str | None, services: Services) -> TodayLine:
    from finishlog.desk.due import today

    job, what = named
    return today.line(services, job, what, area)


def _until(text: str, line: TodayLine, services: Services) -> datetime:
    from finishlog.inputs.until import read_until

    zone = line.opens_at.tzinfo
    assert zone is not None
    with naming("--until"):
        return read_until(text, services.clock(), zone)


def _acted(done: Recorded, as_json: bool) -> int:
    from finishlog.cli.jobs.record import recorded_json

    if as_json:
        say_json(recorded_json(done))
    else:
        say(f"{done.job}  {done.sentence} Entry {done.entry.number}; undo with undo.")
    return 0


_LINE = "job what state opens_at closes_at"
_WHOSE = "title area age_days customer name=piece kind said usual why first?"


def line_json(line: TodayLine) -> Json:
    """One line; instants are ISO 8601 with the site's offset, `caution` is everything to mind."""
    return {**pick(line, _LINE), "caution": " ".join(line.cautions) or None, **pick(line, _WHOSE)}


def text(found: Today) -> str:
    """The sentence, the groups, why the open ones are due; the evening before a pour what to settle."""
    from finishlog.desk.due.today import groups

    parts = [found.sentence]
    parts += [
        f"{title}\n{table([_row(line) for line in lines], indent=2)}" for title, lines in groups(found.lines)
    ]
    why = [
        f"{line.title}, {line.job}: {_first(line)}{line.why}{_caution(line)}" for line in found.of("open")[:5]
    ]
    parts += [f"Why\n{bullets(why)}"] if why else []
    parts += [ahead_text(each) for each in found.ahead]
    return "\n\n".join(parts)


def _row(line: TodayLine) -> tuple[str, str, str, str]:
    area = f", {line.where}" if line.where else ""
    before = f"! {line.before}: " if line.before else ""
    return f"{MARKS[line.state]} {line.title}", line.job, line.said, f"{before}{line.who}{area}"


def _first(line: TodayLine) -> str:
    return f"! {line.first} " if line.first else ""


def _caution(line: TodayLine) -> str:
    return f" ! {line.caution}" if line.caution else ""


def ahead_text(ahead: Ahead) -> str:
    """The look ahead at one pour."""
    rows = [("!" if part.settle else "·", part.title, part.text) for part in ahead.parts]
    return f"Ahead: {ahead.customer} · {ahead.piece}, {ahead.when}\n{table(rows, indent=2)}"
