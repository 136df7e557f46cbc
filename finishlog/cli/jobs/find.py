"""`find`, `show`: jobs by any scrap, and all that the log holds on one."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from finishlog.cli.options import add_part, part_of
from finishlog.cli.output import bullets, say, say_json, table
from finishlog.desk.plain_data import Json, pick
from finishlog.records.when import poured_once

if TYPE_CHECKING:
    from datetime import date

    from finishlog.cli.options import Part
    from finishlog.desk.services import Services
    from finishlog.records.due import Ahead
    from finishlog.records.log import JobLine, Page
    from finishlog.records.page import Doing, JobPage


def register(commands: Any) -> None:
    """Add `find` and `show` to the commands."""
    find = commands.add_parser(
        "find",
        help="find jobs by any scrap",
        description="Find jobs by any scrap: customer, street, town, pattern, shade, lot, ticket, note, year, "
        "season such as 'spring 2025'. Typos are forgiven. No words: all jobs, newest first.",
        epilog="Example: finishlog find slate 'spring 2025' --near 58,9,17 --limit 5",
    )
    find.add_argument("words", nargs="*", help="what you remember of the job")
    find.add_argument("--base", metavar="SHADE", help="base color shade")
    find.add_argument("--release", metavar="SHADE", help="release shade")
    find.add_argument("--pattern", metavar="NAME", help="stamp pattern")
    find.add_argument("--since", metavar="DATE", help="poured on or after")
    find.add_argument("--until", metavar="DATE", help="poured on or before")
    find.add_argument("--near", metavar="COLOR", help='closest color first: 62,4,16 or "10YR 6/3" or #a9927a')
    find.add_argument("--archived", action="store_true", help="archived jobs too")
    add_part(find, "jobs")
    find.add_argument("--json", action="store_true", help="one JSON list")
    find.set_defaults(run=run_find)

    show = commands.add_parser(
        "show",
        help="everything in the log on a job",
        description="Everything in the log on a job: what went in, what's buried, each entry with its number.",
        epilog="Example: finishlog show hill-patio",
    )
    show.add_argument("job", metavar="JOB", help="the job's handle, or the start of it")
    show.add_argument("--json", action="store_true", help="one JSON object")
    show.set_defaults(run=run_show)


def run_find(args: argparse.Namespace, services: Services) -> int:
    """`find`: the jobs that the words fit best, or those nearest to a color."""
    part = part_of(args)
    page = _near(args, services, part) if args.near is not None else _page(args, services, part)
    if args.json:
        say_json([_hit(line) for line in page.lines])
        return 0
    if page.lines:
        for line in page.lines:
            first, second = _listed(line)
            say(first)
            say(bullets([second]))
        shown = (len(page.lines), page.total)
        told = part.said(*shown) if args.near is None else " ".join(part.more(*shown))
        if told:
            say(f"\n{told}")
    elif page.total:
        say(part.said(0, page.total))
    elif page.nearest:
        say(f"No match. Nearest: {', '.join(page.nearest)}.")
    elif args.near is not None and page.all_jobs:
        say("No job has a base color reading.")
    else:
        say("No match." if page.all_jobs else "No jobs yet. finishlog import --template starts a paper log.")
    return 0


def _page(args: argparse.Namespace, services: Services, part: Part) -> Page:
    from finishlog.desk.jobs import find

    return find.page(
        services,
        " ".join(args.words),
        base=args.base,
        release=args.release,
        pattern=args.pattern,
        since=_day(args.since, "--since"),
        until=_day(args.until, "--until"),
        archived=args.archived,
        limit=part.limit,
        offset=part.offset,
    )


def _near(args: argparse.Namespace, services: Services, part: Part) -> Page:
    from finishlog.desk.jobs import find
    from finishlog.errors import InputError

    if args.words or any((args.base, args.release, args.pattern, args.since, args.until)):
        raise InputError("Search a color by itself.", "Leave out the words or --near.", where="--near",
                         example='finishlog find --near "10YR 6/3" --limit 5')  # fmt: skip
    try:
        one_more = None if part.limit is None else part.offset + part.limit + 1
        page = find.near(services, args.near, limit=one_more, archived=args.archived)
    except InputError as failure:
        raise failure if failure.where else failure.at("--near") from None
    return replace(page, lines=tuple(part.of(page.lines)))


def run_show(args: argparse.Namespace, services: Services) -> int:
    """`show`: one job's whole page."""
    from finishlog.desk.jobs import page as job_page

    page = job_page.lay_open(services, args.job)
    evening = _evening(page, services, "us" if args.json else args.units)
    if args.json:
        from finishlog.desk import plain_data
        from finishlog.desk.plan import as_json

        since = _since(page, services, "us")
        say_json({**as_json.job_json(page), "plan_since": list(since), "ahead": plain_data.data(evening)})
    else:
        _say_page(page)
        _say_plan(page, args.units, _since(page, services, args.units))
        _say_ahead(evening)
    return 0


def _evening(page: JobPage, services: Services, units: str) -> Ahead | None:
    if page.job.state != "planned":  # most jobs are poured: what looks ahead is not even loaded
        return None
    from finishlog.desk.due import ahead

    return ahead.evening(services, page.job.handle, units)


def _since(page: JobPage, services: Services, units: str) -> tuple[str, ...]:
    if page.planned is None or page.line.poured_on is not None:
        return ()
    from finishlog.desk.match import kept

    return kept.since(services, page.job.handle, units)


def _say_plan(page: JobPage, units: str, since: tuple[str, ...]) -> None:
    """The plan it was saved with, as it was given."""
    if page.planned is None:
        return
    from finishlog.cli.plan.match import sheet
    from finishlog.desk.match import kept

    say()
    say(kept.given_words(page.planned))
    if changed := kept.since_words(since, "On its page m remakes it"):
        say(changed)
    say()
    say(sheet(page.planned.plan, units))


def _say_ahead(evening: Ahead | None) -> None:
    """The evening before a pour: what is to be settled."""
    if evening is not None:
        from finishlog.cli.jobs.today import ahead_text

        say()
        say(ahead_text(evening))


def _say_page(page: JobPage) -> None:
    from finishlog.desk import words
    from finishlog.desk.placed import still_to_come

    job = page.job
    say(f"{job.customer.name} · {job.name}   {words.poured(page)}")
    say(f"{page.line.site}   {job.handle}")
    say(page.sentence)
    planned = page.line.poured_on is None and not poured_once(page.job)
    for placed in page.placed:
        when = still_to_come.for_area(page.to_come, placed.area.uid)
        say()
        say(words.area_title(placed.area))
        say(
            table(
                [
                    (line.label, line.figure, line.text)
                    for line in words.placed_lines(placed, planned=planned, to_come=when)
                ],
                right=(1,),
                indent=2,
            )
        )
    if job.buried:
        say()
        say("Buried")
        say(bullets(words.buried(item) for item in job.buried))
    if page.doings:
        say()
        say("Was done")
        say(table([_doing(d) for d in page.doings if d.current or d.gone], right=(0,), indent=2))
    if job.note:
        say()
        say(bullets(job.note.splitlines(), indent=0))


def _doing(done: Doing) -> tuple[str, str, str, str]:
    """One entry as a row; its number is what record --replaces and undo take."""
    told = "; ".join(part for part in (done.what, *done.further) if part)
    told = f"{done.was}: {told}" if done.gone else told
    return str(done.number), done.when, done.who or "", f"{told}: {done.note}" if done.note else told


def _listed(line: JobLine) -> tuple[str, str]:
    """A job as two lines: who and when, where and what it looks like."""
    from finishlog.desk import words

    unknown = "date unknown" if line.state == "poured" else "planned"
    when = words.month(line.poured_on) if line.poured_on else unknown
    rest = " · ".join(p for p in (line.site, words.look(line)) if p)
    return f"{line.customer} · {line.name}, {when}   {line.handle}{_apart(line)}", rest


def _apart(line: JobLine) -> str:
    """How close it is to the color searched for."""
    if line.de00 is None:
        return ""
    from finishlog.color.notation.words import nearness

    return f"   {nearness(line.de00)}, ΔE00 {line.de00:.1f}"


_HIT = (
    "job=handle customer name site state poured_on planned_on base release pattern color=color_name",
    "de00 score",
)


def _hit(line: JobLine) -> Json:
    return pick(line, *_HIT)


def _day(text: str | None, where: str) -> date | None:
    from finishlog.errors import naming
    from finishlog.units import read_date

    if text is None:
        return None
    with naming(where):
        return read_date(text)
