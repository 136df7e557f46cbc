"""`shelf`: lots bought, opened, counted, reclaimed, spoiled; what is left; a bucket's label; what jobs cost."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Any

from finishlog.cli.options import add_part, number_of, part_of
from finishlog.cli.output import note, say, say_json, table
from finishlog.cli.sums.weather import SHEET
from finishlog.desk.plain_data import Json, data, pick
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.cli.options import Part
    from finishlog.desk.services import Services
    from finishlog.records.shelf import Moved, PastCost, ShelfLine, ShelfLot

VERBS = ("buy", "open", "count", "reclaim", "spoil", "throw")
OTHERS = ("label", "sheet", "moves", "undo", "cost")
LISTS = (None, "moves", "cost")
MARKS = {"low": "!", "count": "?", "left": "●", "unknown": "?", "out": "○"}
_KEYS = ("kind", "maker", "lot", "amount", "price", "by", "job", "note")

_MORE = """\
Job entries take off what they use; clean powder from a sweep comes back
automatically, apart from fresh; reclaim --job for that job is the same powder.
A count sets what's left. More used than bought shows as "count it"; it is never
refused.

  finishlog shelf buy "Otter Back" --kind "powder release" --lot 0329 --amount "50 lb" --price 150
  finishlog shelf count "Otter Back" --lot 0329 --amount "31 lb"
  finishlog shelf reclaim "Otter Back" --lot 0329 --amount "6 lb" --job hill-patio
  finishlog shelf spoil "Otter Back" --lot 0329 --amount "2 lb" --note "wet in the rain"
  finishlog shelf label "Otter Back" --lot 0329 --pdf bucket.pdf
  finishlog shelf sheet "Slick Badger 25" --sealer-low 50F --sealer-rain-free 12h
                              limits from a sealer's own sheet; blank means unknown
  finishlog shelf moves       every line with its number; undo [N] takes one back,
                              buy … --replaces N corrects one
  finishlog shelf cost [JOB]  material of past jobs, per square foot
"""


def register(commands: Any) -> None:
    """Add `shelf` to the commands."""
    shelf = commands.add_parser(
        "shelf",
        help="what's on the shelf, lot by lot",
        description="Lots bought, opened, used, reclaimed and left. No action: the list.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    shelf._negative_number_matcher = re.compile(r"-\d")  # so that --at -2h and --amount -5 are values
    shelf.add_argument("action", metavar="ACTION", nargs="?", help=", ".join((*VERBS, *OTHERS)))
    shelf.add_argument("what", metavar="PRODUCT", nargs="?", help="shade or name on the bag or can")
    shelf.add_argument("--lot", metavar="LOT", help="its bag lot")
    shelf.add_argument("--amount", metavar="AMOUNT", help='how much: "50 lb", "2 bags", "5 gal"')
    shelf.add_argument("--price", metavar="USD", help="total price")
    shelf.add_argument("--kind", metavar="KIND", help="material type, if it is new to the log")
    shelf.add_argument("--maker", metavar="NAME", help="who makes it")
    shelf.add_argument("--at", metavar="WHEN", help="when; default: now")
    shelf.add_argument("--job", metavar="JOB", help="the job it comes from")
    shelf.add_argument("--by", metavar="WHO", help="who did it")
    shelf.add_argument("--note", metavar="TEXT", help="why it spoiled; anything else")
    shelf.add_argument("--replaces", metavar="N", help="the number of the line this corrects")
    shelf.add_argument("--because", metavar="TEXT", help="why, if it is odd; kept with it")
    add_part(shelf, "rows")
    shelf.add_argument("--all", action="store_true", help="also lots that were used but never bought")
    _add_paper(shelf)
    for option, metavar, text in SHEET:
        shelf.add_argument(f"--{option}", metavar=metavar, help=f"for sheet: {text}")
    shelf.add_argument("--json", action="store_true", help="the list, or the line saved")
    shelf.set_defaults(run=run)


def _add_paper(parser: argparse.ArgumentParser) -> None:
    from finishlog.cli.plan.sheet import add_paper

    add_paper(parser)


def run(args: argparse.Namespace, services: Services) -> int:
    """`shelf`: the list, or one action on a product."""
    action = args.action
    if action not in (None, *VERBS, *OTHERS):
        raise InputError(f"“{action[:40]}” is no shelf action.",
                         f"It can be {', '.join((*VERBS, *OTHERS))}.", where="ACTION", example="buy")  # fmt: skip
    if args.pdf is not None and action != "label":
        raise InputError(
            "--pdf is for a label.", where="--pdf", example="finishlog shelf label PRODUCT --pdf FILE"
        )
    if action != "sheet" and (given := _sheet_texts(args)):
        option = next(iter(given))
        raise InputError(f"--{option} is for a sealer's sheet.", where=f"--{option}",
                         example=f'finishlog shelf sheet "Badger Coat" --{option} …')  # fmt: skip
    if action not in LISTS and (args.limit or args.first):
        raise InputError("Only for the list.", where="--limit, --from", example="finishlog shelf --limit 20")
    if action in VERBS:
        return _move(args, services)
    _only_its_own(args)
    others = {None: _list, "label": _label, "sheet": _sheet, "moves": _moves, "undo": _undo, "cost": _cost}
    return others[action](args, services)


def _only_its_own(args: argparse.Namespace) -> None:
    """Raises InputError for an option that this action would not heed."""
    heeded = {
        "undo": ("what",),
        "cost": ("what",),
        "label": ("what", "lot", "kind"),
        "sheet": ("what", "maker"),
    }
    for key in ("what", *_KEYS, "at", "replaces", "because"):
        if getattr(args, key) is not None and key not in heeded.get(args.action, ()):
            named = "PRODUCT" if key == "what" else f"--{key}"
            does = f"shelf {args.action}" if args.action else "the list"
            raise InputError(f"{named} does not go with {does}.", where=named,
                             example='finishlog shelf buy "Otter Back" --amount "50 lb"')  # fmt: skip


def _sheet_texts(args: argparse.Namespace) -> dict[str, str]:
    found = {option: getattr(args, option.replace("-", "_")) for option, *_ in SHEET}
    return {option: text for option, text in found.items() if text is not None}


def _sheet(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.doubts import sealer_sheet

    if args.what is None:
        raise InputError("Which sealer?", where="PRODUCT", example='finishlog shelf sheet "Badger Coat"')
    texts = _sheet_texts(args)
    if texts:
        product, known = sealer_sheet.keep(services, args.what, texts, args.maker)
    else:
        product, known = sealer_sheet.look(services, args.what, args.maker)
    if args.json:
        say_json({"product": product.name, "maker": product.maker, **sealer_sheet.limits_json(known)})
        return 0
    say(f"{product.name}{'' if known.told else ': its own sheet is not known.'}\n")
    say(table(sealer_sheet.in_use(known, services.shop(), args.units), indent=2))
    return 0


def _system(args: argparse.Namespace) -> str:
    """The units of the words: JSON is the same whatever they are."""
    return "us" if args.json else str(args.units)


def _list(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.shelf import shelf

    part = part_of(args)
    found = shelf.shelf(services, all=args.all, system=_system(args), limit=part.limit, offset=part.offset)
    shown = found.lines
    if args.json:
        say_json([line_json(line) for line in shown])
        return 0
    say(found.sentence)
    if shown:
        say()
        say(table([_row(line) for line in shown], indent=2))
    _say_part(part, len(shown), found.total)
    return 0


def _say_part(part: Part, shown: int, total: int) -> None:
    if told := part.said(shown, total):
        say(f"\n{told}")


def _row(line: ShelfLine) -> tuple[str, str, str, str]:
    held = line.held
    lot = f"lot {held.lot}" if held.lot else "no lot"
    more = [f"for {', '.join(line.needed_by)}"] if line.needed_by else []
    more += [f"opened {held.opened_on}"] if held.opened_on else []
    return (
        f"{MARKS[line.state]} {held.product.name}",
        lot,
        line.said,
        "; ".join((held.product.kind, *more, *held.doubts)),
    )


_LOT = (
    "product=product.name product.kind product.maker lot unit",
    "bought used left reclaimed reclaimed_used reclaimed_left spoiled thrown",
    "usd_per_unit opened_on counted_on last_used doubts",
)


def line_json(line: ShelfLine) -> Json:
    """One lot with its state and who needs it; `left` null where it cannot be told."""
    return {**lot_json(line.held), **pick(line, "state said needed_by")}


def lot_json(held: ShelfLot) -> Json:
    """One lot; amounts are in `unit` (lb, gal, or bag where nobody knows what a bag weighs)."""
    from finishlog.desk.shelf.shelf import safety

    return {**pick(held, *_LOT), "safety": list(safety(held.product))}


def _move(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.shelf import shelf

    if args.what is None and args.replaces is None:
        raise InputError(
            "Which product?", where="PRODUCT", example=f'finishlog shelf {args.action} "Otter Back"'
        )
    texts = {key: getattr(args, key) for key in _KEYS if getattr(args, key) is not None}
    texts |= {"at": args.at} if args.at is not None else {}
    texts |= {"product": args.what} if args.what is not None else {}
    done = shelf.move(
        services, args.action, texts, replaces=_number(args.replaces, "--replaces"), because=args.because,
        system=_system(args),
    )  # fmt: skip
    return _tell(done, args.json)


def _number(text: str | None, where: str) -> int | None:
    return number_of(text, where, "line", "7, as shelf moves lists it")


def _undo(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.shelf import shelf

    return _tell(shelf.undo(services, _number(args.what, "N"), _system(args)), args.json)


def _tell(done: Moved, as_json: bool) -> int:
    if as_json:
        move = {**data(done.move), "product": done.move.product.name, "number": done.number}
        say_json(
            {
                **move,
                "sentence": done.sentence,
                "held": None if done.held is None else lot_json(done.held),
                "warnings": list(done.warnings),
            }
        )
        return 0
    say(f"{done.number}  {done.sentence}")
    for warning in done.warnings:
        note(f"finishlog: {warning}")
    return 0


def _moves(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.shelf import shelf

    every, part = shelf.moves(services, _system(args)), part_of(args)
    found = part.of(every)
    if args.json:
        say_json(
            [
                {**data(each.move), "number": each.number, "said": each.said, "current": each.current}
                for each in found
            ]
        )
    elif found:
        say(
            table(
                [(str(x.number), "" if x.current else "replaced", shelf.history_line(x)) for x in found],
                right=(0,),
            )
        )
    elif not every:
        say("Nothing logged on the shelf yet.")
    if not args.json:
        _say_part(part, len(found), len(every))
    return 0


def _cost(args: argparse.Namespace, services: Services) -> int:
    from finishlog.desk.plan import shelf as plan_shelf
    from finishlog.desk.shelf import money

    every, part = money.past(services, args.what), part_of(args)
    found = part.of(every)
    if args.json:
        say_json([_past_json(each) for each in found])
        return 0
    if args.what is not None and found:
        say(table(list(plan_shelf.cost_lines(found[0].cost, args.units)), right=(1,)))
        return 0
    if found:
        say(table([_past_row(each, args.units) for each in found], right=(1, 2)))
    elif not every:
        say("No job poured yet.")
    _say_part(part, len(found), len(every))
    return 0


def _past_row(each: PastCost, units: str) -> tuple[str, str, str, str]:
    from finishlog.desk.plan.shelf import per_area, usd

    per = per_area(each.cost.usd_per_ft2, units) if each.cost.usd_per_ft2 is not None else "—"
    without = f"without {', '.join(each.cost.unknown)}" if each.cost.unknown else ""
    return each.job, usd(each.cost.usd), per, without


def _past_json(each: PastCost) -> Json:
    from finishlog.desk.plan.shelf import cost_json

    return {**pick(each, "job customer name=piece poured_on area_ft2"), **cost_json(each.cost)}


def _label(args: argparse.Namespace, services: Services) -> int:
    from finishlog.papers import files, make

    if args.what is None or args.pdf is None:
        raise InputError("A label needs a product and a file.", where="--pdf",
                         example='finishlog shelf label "Otter Back" --lot 0329 --pdf bucket.pdf')  # fmt: skip
    files.check(args.pdf, force=args.force)
    made = make.bucket_label(
        services, args.what, args.lot, args.kind, units=args.units, paper=args.paper or "letter"
    )
    with files.new_file(args.pdf, made, force=args.force) as target:
        pass
    if args.json:
        say_json({"product": args.what, "lot": args.lot, "file": str(target)})
    else:
        say(f"Label saved to {target}.")
    return 0
