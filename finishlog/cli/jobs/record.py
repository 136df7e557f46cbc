"""`record`, `undo`, `move`: what happened, logged as it is said; taken back; moved to the right job."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishlog.cli.options import number_of
from finishlog.cli.output import bullets, note, say, say_json, table
from finishlog.desk.plain_data import Json, data
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.record.record import Recorded
    from finishlog.desk.services import Services

_OPTIONS = {"by": "by", "area": "area", "product": "product", "maker": "maker", "lot": "lot",
            "amount": "amount", "map": "map", "note": "note"}  # fmt: skip
"""Options that say a field of their own name."""

_MORE = """\
Give facts with --set key=value, as many as you need. record --kinds lists what
you can log, record --kinds KIND its keys with an example each. You can leave
the unit off a key (slump=4.5). An empty value is unknown.

  finishlog record hill-patio load --at 8:50a --set ticket=40731 --set yards=6.5 \\
      --product "Wet Biscuit" --amount "24 lb 6 oz" --map "field=5, stairs=1.5"
  finishlog record hill-patio rinse --about 7:30a --by Bo --set passes=2
  finishlog record hill-patio reading --set color=62,4,16
A correction; what you leave out stays as it was:
  finishlog record hill-patio load --replaces 4 --set yards=6.75
A rinse asks about the sweep due before it, and logs it as its own entry:
  finishlog record hill-patio rinse --set swept="3 lb"     (or yes, no, unknown)
Anything odd needs a reason:
  finishlog record hill-patio rinse --at -8h --because "storm coming"
A whole day card at once:
  finishlog record hill-patio day --at 2026-06-04 --by Bo --set load.1.yards=6.5 \\
      --set load.1.amount="45 lb" --set pour.at=11:20a --set rinse.at="Jun 5 4p"
"""


def register(commands: Any) -> None:
    """Add `record`, `undo` and `move` to the commands."""
    record = commands.add_parser(
        "record",
        help="log what happened",
        description="Log what happened on a job. Only the job and the kind are needed: blank means\n"
        "unknown; without --at it is now.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    record.add_argument("job", metavar="JOB", nargs="?", help="the job's handle, or the start of it")
    record.add_argument(
        "kind",
        metavar="KIND",
        nargs="?",
        help="load, rinse, seal, reading… see --kinds; day: the whole day card",
    )
    record._negative_number_matcher = re.compile(r"-\d")  # so that --at -2h is a time, not an option
    _add_when(record)
    record.add_argument("--by", metavar="WHO", help="who did it")
    record.add_argument("--area", metavar="NAME", help="the area; all: the whole job")
    record.add_argument("--map", metavar="AREA=YARDS,…", help="where a load went, by area")
    record.add_argument("--product", metavar="NAME", help="what was used: shade or name on the bag or can")
    record.add_argument("--maker", metavar="NAME", help="who makes it")
    record.add_argument("--lot", metavar="LOT", help="its bag lot")
    record.add_argument("--amount", metavar="AMOUNT", help='how much: "24 lb 6 oz", 2.5 gal, 2 bags')
    record.add_argument("--set", metavar="KEY=VALUE", action="append", default=[], help="a fact; repeat")
    record.add_argument(
        "--attach", metavar="FILE", action="append", default=[], help="a file to keep with it"
    )
    record.add_argument("--replaces", metavar="ENTRY", help="the number of the entry this corrects")
    record.add_argument("--note", metavar="TEXT", help="anything else")
    record.add_argument("--because", metavar="TEXT", help="why, if it is odd; kept with the entry")
    record.add_argument("--kinds", action="store_true", help="list what can be logged, and its keys")
    record.add_argument("--json", action="store_true", help="the entry as one JSON object")
    record.set_defaults(run=run_record)
    _add_undo(commands)
    _add_move(commands)


def _add_undo(commands: Any) -> None:
    undo = commands.add_parser(
        "undo",
        help="undo an entry, or bring it back",
        description="Undo an entry. The log keeps both; undoing the undo, by its number,\n"
        "brings it back: finishlog undo hill-patio 13.",
        epilog="Example: finishlog undo hill-patio 12",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    undo.add_argument("job", metavar="JOB", help="the job's handle, or the start of it")
    undo.add_argument("entry", metavar="ENTRY", nargs="?", help="its number; default: the last one logged")
    undo.add_argument("--json", action="store_true", help="one JSON object")
    undo.set_defaults(run=run_undo)


def _add_move(commands: Any) -> None:
    move = commands.add_parser(
        "move",
        help="move an entry to the right job",
        description="Move an entry logged on the wrong job, with its attachments. Both jobs\n"
        "keep it in their history; finishlog undo undoes the move.",
        epilog="Example: finishlog move hill-patio 12 --to lake-walk",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    move.add_argument("job", metavar="JOB", help="the job it was logged on")
    move.add_argument("entry", metavar="ENTRY", help="its number, as show gives it")
    move.add_argument("--to", metavar="JOB", required=True, help="the right job")
    move.add_argument("--because", metavar="TEXT", help="why, if it is odd there; kept with the entry")
    move.add_argument("--json", action="store_true", help="one JSON object: the entry on its new job")
    move.set_defaults(run=run_move)


def _add_when(parser: Any) -> None:
    when = parser.add_mutually_exclusive_group()
    when.add_argument("--at", metavar="WHEN", help="7:10a, Jun 4 7:10a, 2026-06-04, yesterday 2p, -2h")
    when.add_argument("--about", metavar="WHEN", help="the same, but not exact")


def run_record(args: argparse.Namespace, services: Services) -> int:
    """`record`: log an entry, or with --kinds say what can be logged."""
    if args.kinds:
        return _kinds(args.kind or args.job, services)
    if args.job is None or args.kind is None:
        raise InputError("Name the job and what happened.", where="JOB KIND",
                         example="finishlog record hill-patio rinse --at 7:30a")  # fmt: skip
    if args.kind == "day":
        return _day_card(args, services)
    from finishlog.desk.record import record

    done = record.record(
        services,
        args.job,
        args.kind,
        _texts(args),
        replaces=_number(args.replaces, "--replaces"),
        because=args.because,
        files=tuple(Path(name) for name in args.attach),
    )
    _tell(done, args.json)
    return 0


def _day_card(args: argparse.Namespace, services: Services) -> int:
    """A whole day card: `record JOB day --at DATE --by CREW --set load.1.yards=6.5 …`."""
    from finishlog.desk.forms import daycard

    texts = {key: text for key, text in ((daycard.DAY, args.at), (daycard.CREW, args.by)) if text}
    for pair in args.set:
        typed, equals, value = pair.partition("=")
        section, _, field = typed.strip().rpartition(".")
        if not equals or not section:
            raise InputError(f"“{pair[:40]}” is no part of a card.", where="--set",
                             example="--set load.1.yards=6.5")  # fmt: skip
        texts[daycard.full_key(section, field)] = value
    done = daycard.pour_day(services, args.job, texts, because=args.because)
    if args.json:
        say_json([recorded_json(one) for one in done])
    else:
        for one in done:
            _tell(one, False)
    return 0


def run_undo(args: argparse.Namespace, services: Services) -> int:
    """`undo`: take an entry back; undoing that brings it back."""
    from finishlog.desk.record import taking_back

    done = taking_back.undo(services, args.job, _number(args.entry, "ENTRY"))
    _tell(done, args.json)
    if done.entry.withdrawn and not args.json:
        note(f"finishlog undo {done.job} {done.entry.number} brings it back.")
    return 0


def run_move(args: argparse.Namespace, services: Services) -> int:
    """`move`: an entry to the job it belongs to."""
    from finishlog.desk.record import taking_back

    number = _number(args.entry, "ENTRY")
    assert number is not None
    done = taking_back.move(services, args.job, number, args.to, because=args.because)
    _tell(done, args.json)
    if not args.json:
        note(f"finishlog undo {done.job} {done.entry.number} moves it back.")
    return 0


def _tell(done: Recorded, as_json: bool) -> None:
    if as_json:
        say_json(recorded_json(done))
        return
    say(f"{done.job}  {done.sentence}")
    if done.understood:
        say(table([(title, echo) for _, title, echo in done.understood], indent=2))
    for warning in done.warnings:
        note(f"finishlog: {warning}")


def recorded_json(done: Recorded) -> Json:
    """The entry with its number, as `show --json` has it, and what was understood of it."""
    return {
        "job": done.job,
        **data(done.entry),
        "sentence": done.sentence,
        "understood": {key: echo for key, _, echo in done.understood},
        "warnings": list(done.warnings),
    }


def _texts(args: argparse.Namespace) -> dict[str, str]:
    """The fields by key as typed; said twice is refused."""
    from finishlog.inputs.entry import entries

    texts = {
        key: getattr(args, option) for option, key in _OPTIONS.items() if getattr(args, option) is not None
    }
    when = _when(args)
    if when is not None:
        texts["at"] = when
    for pair in args.set:
        typed, equals, value = pair.partition("=")
        if not equals or not typed.strip():
            raise InputError(f"“{pair[:40]}” is not key=value.", where="--set", example="--set slump_in=4.5")
        key = entries.key_for(args.kind, typed)
        if key in texts:
            raise InputError(f"{key} is given twice.", "Give it once.", where="--set")
        texts[key] = value
    return _known(args.kind, texts)


def _when(args: argparse.Namespace) -> str | None:
    if args.about is None:
        at: str | None = args.at
        return at
    return f"about {args.about}" if args.about.strip() else ""


def _known(kind: str, texts: dict[str, str]) -> dict[str, str]:
    """Every key is one of the kind's; an option the kind has no use for is refused with its keys."""
    from finishlog.inputs.entry import entries

    for key in texts:
        entries.key_for(kind, key)
    return texts


def _number(text: str | None, where: str) -> int | None:
    return number_of(text, where, "entry", "7, as show lists it")


def _kinds(kind: str | None, services: Services) -> int:
    from finishlog.inputs.entry import entries

    if kind is None:
        say(table([(each.key, each.title, each.verb) for each in entries.kinds()]))
        say()
        say(bullets(["finishlog record --kinds KIND lists its keys."], indent=0))
        return 0
    fields = entries.fields_of(kind, entries.bare())
    say(table([(f.key, f.title, f"{'needed; ' if f.required else ''}like {f.example}") for f in fields]))
    return 0
