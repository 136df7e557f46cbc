"""`color JOB`: its colors by age, and where they go."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import bullets, say, say_json, table

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.color import ColorTrack, JobColor, Odds
    from finishlog.records.plan import Plan


def register(commands: Any) -> None:
    """Add `color` to the commands."""
    title = "a job's colors by age, and the forecast"
    command = commands.add_parser(
        "color",
        help=title,
        description="A job's color readings by age, its final color with its range, and when to "
        "judge it. Ages count from the end of the pour, a bare number is days.",
        epilog="Example: finishlog color puddlecombe --by 60 --by '6 weeks'",
    )
    command.add_argument("job", metavar="JOB", nargs="?", help="the job's handle, or the start of it")
    command.add_argument("--area", metavar="NAME", help="which of its areas; default: all")
    command.add_argument(
        "--by", action="append", default=[], metavar="AGE", help="forecast this age too, like 60 or '6 weeks'"
    )
    command.add_argument("--keep", action="store_true", help="save this forecast with the job")
    command.add_argument("--how-good", action="store_true", help="how past forecasts did, all jobs")
    command.add_argument(
        "--rests-on", action="store_true", help="every starting value and its source; no job"
    )
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run_color)


def run_color(args: argparse.Namespace, services: Services) -> int:
    """`color`: a job's readings and forecast; with --how-good how past ones did, with --rests-on the starts."""
    if args.rests_on:
        return _rests_on(args)
    from finishlog.desk.color import as_json, color, words
    from finishlog.errors import InputError

    if args.how_good:
        return _how_good(args, services)
    if args.job is None:
        raise InputError("Which job?", where="JOB", example="finishlog color puddlecombe")
    found = color.job(services, args.job, args.area, [_age(text) for text in args.by])
    if args.keep:
        color.keep_forecast(services, found.handle, args.area)
    closed, odds = _odds(services, found.handle, args.area)
    if args.json:
        told, gate = as_json.odds_json(odds) if odds else None, _gate(closed)
        say_json({**as_json.color_json(found), "odds": told, "gate": gate, "kept": args.keep})
        return 0
    say(sheet(found))
    if closed:
        from finishlog.desk.plan import words as plan_words

        say(f"\nThe odds\n{bullets([words.BEFORE_SAMPLE, plan_words.gate(closed)])}")
    if odds:
        say(f"\nThe odds, not for the customer\n{bullets([words.odds_sentence(odds)])}")
        say(table(words.odds_rows(odds), indent=2))
    if args.keep:
        say("\nForecast saved.")
    return 0


def _odds(services: Services, handle: str, area: str | None) -> tuple[Plan | None, Odds | None]:
    """The plan that could not tell before a sample, or the odds; neither of a job that matches no other."""
    with services.log().reading() as log:
        if not log.is_match(handle):
            return None, None
    from finishlog.desk.match import odds

    closed = odds.closed(services, handle, area)
    return closed, None if closed else odds.of_job(services, handle, area)


def _gate(closed: Plan | None) -> Any:
    from finishlog.desk.plain_data import data

    return data(closed.gate) if closed else None


def _age(text: str) -> float:
    from finishlog.errors import naming
    from finishlog.inputs.ages import read_age_days

    with naming("--by"):
        return read_age_days(text)


def _rests_on(args: argparse.Namespace) -> int:
    from finishlog.cli.color import rests_on

    if args.json:
        say_json({"answer": rests_on.HEAD, "figures": rests_on.as_json()})
    else:
        say(rests_on.sheet())
    return 0


def _how_good(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.color import as_json, words
    from finishlog.desk.match import how_good
    from finishlog.errors import InputError

    if args.job or args.area or args.by or args.keep:
        raise InputError("It covers all jobs: name no job and no other option.", where="--how-good",
                         example="finishlog color --how-good")  # fmt: skip
    found = how_good.how_good(services)
    if args.json:
        say_json(as_json.how_good_json(found))
        return 0
    if not found.by_day:
        say(words.how_good(found))
        return 0
    rows = [words.HELD_HEAD, *words.held_rows(found)]
    say(" ".join((words.saved(found), *words.promises(found))))
    say("\nMade afterwards: later readings inside the 9-in-10 range")
    say(table(rows, right=range(len(words.HELD_HEAD)), indent=2))
    say(bullets([*words.scatter(found), words.HELD_NOTE]))
    return 0


def sheet(found: JobColor) -> str:
    """The colors as text: for each area and sample the sentence first, numbers after it."""
    from finishlog.desk.color.words import NO_AREA

    parts = [found.title, *(_track(found, track) for track in found.tracks)]
    return "\n\n".join(parts if found.tracks else [found.title, NO_AREA])


def _track(found: JobColor, track: ColorTrack) -> str:
    from finishlog.desk.color import words

    name = words.name(track)
    sentence = words.sentence(found, track)
    parts = [
        f"{name[:1].upper()}{name[1:]}: {sentence}",
        _block("Read (± one standard deviation of L*, a*, b*)", words.reading_rows(track)),
        _block("Expected (9 in 10 within)", words.forecast_rows(track)),
        bullets(flag for flag in track.flags if flag != sentence),
        bullets([words.learned_from(found, track)]) if track.forecast else "",
    ]
    return "\n".join(part for part in parts if part)


def _block(title: str, rows: list[Any]) -> str:
    return f"{title}\n{table(rows, right=(0,), indent=2)}" if rows else ""
