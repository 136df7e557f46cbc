"""`rinse`: how much release is left on rinse day, what will be seen of it, and whether to rinse more."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.options import option_of, read_option
from finishlog.cli.output import bullets, say, say_json, table
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.rinse.rinse import RinseAnswer, Spots
    from finishlog.desk.services import Services

_SPOTS = (
    ("field", "the field as it is"),
    ("rinsed", "a fully rinsed spot, on the kept sample or a hidden edge"),
    ("unrinsed", "an unrinsed spot, same"),
)


def register(commands: Any) -> None:
    """Add `rinse` to the commands."""
    title = "how much release the rinse leaves, and how it will look"
    command = commands.add_parser(
        "rinse",
        help=title,
        description="How much release the rinse leaves, and how it will look. Take all three colors from one picture; "
        "repeat any. Without them you get your habit, which says little.",
        epilog="Example: finishlog rinse puddlecombe --field 49.5,4.8,12.2 --rinsed 52,5.1,13.4 "
        "--unrinsed 43.6,3.5,8.6 --dried",
        allow_abbrev=False,
    )
    command.add_argument("job", metavar="JOB", help="the job's handle, or the start of it")
    for name, text in _SPOTS:
        command.add_argument(f"--{name}", action="append", default=[], metavar="L,a,b", help=text)
    command.add_argument("--photo", metavar="FILE", help="a picture with a color card, instead of the colors")
    text = "where it shows field, rinsed and unrinsed; repeat"
    command.add_argument("--box", action="append", default=[], metavar="WHAT=X,Y,W,H", help=text)
    command.add_argument("--corners", metavar="CORNERS", help="the card's corners: x,y four times")
    command.add_argument("--gray", metavar="X,Y,W,H", help="where a gray card is, instead of a 24-patch one")
    command.add_argument(
        "--dried", action="store_true", help="all three were dried: towel, cool blower, hours"
    )
    command.add_argument(
        "--target", metavar="PERCENT", help="release left wanted; default: the matched job's"
    )
    command.add_argument("--area", metavar="NAME", help="which of its areas; default: the field")
    command.add_argument("--keep", action="store_true", help="save this advice with the job")
    command.add_argument("--json", action="store_true", help="answer as one JSON object")
    command.set_defaults(run=run_rinse)


def run_rinse(args: argparse.Namespace, services: Services) -> int:
    """`finishlog rinse`."""
    from finishlog.desk.rinse import rinse
    from finishlog.inputs import rinse as reading

    spots = _spots(args) if args.photo is None else _photographed(args, services)
    target = option_of(args, "target", reading.read_share)
    found = rinse.answer(services, args.job, spots, area=args.area, target=target)
    if args.keep:
        rinse.keep(services, found, spots)
    if args.json:
        from finishlog.desk.rinse.as_json import rinse_json

        say_json(rinse_json(found))
    else:
        say(_page(found))
    return 0


def _photographed(args: argparse.Namespace, services: Services) -> Spots:
    """The spots that a photo shows in its boxes. Raises InputError with the reason of a refusal."""
    from pathlib import Path

    from finishlog.desk.photo import reading as photo_reading
    from finishlog.desk.rinse import rinse
    from finishlog.inputs import boxes as places

    if args.field or args.rinsed or args.unrinsed:
        raise InputError("Type the colors or read them off a photo, not both.", where="--photo",
                         example="--photo rinse.jpg --box field=400,300,200,150")  # fmt: skip
    boxes = [read_option("box", text, places.read_box) for text in args.box]
    corners = option_of(args, "corners", places.read_corners)
    gray = option_of(args, "gray", places.read_gray)
    found = photo_reading.of_file(services, Path(args.photo), boxes, corners=corners, gray=gray)
    return rinse.of_photo(found, dried=args.dried)


def _spots(args: argparse.Namespace) -> Spots | None:
    """The spots that were typed; None for none. Raises InputError naming the option."""
    from finishlog.desk.rinse.rinse import Spots
    from finishlog.inputs import rinse as reading

    for option in ("box", "corners", "gray"):
        if getattr(args, option):
            raise InputError("That is a place in a photo, but no photo is given.", where=f"--{option}",
                             example="--photo rinse.jpg")  # fmt: skip
    field, rinsed, unrinsed = (
        tuple(read_option(name, text, reading.read_spot) for text in getattr(args, name))
        for name, _ in _SPOTS
    )
    if not field:
        if rinsed or unrinsed or args.dried:
            raise InputError(
                "The field's own color is missing.", where="--field", example="--field 49.5,4.8,12.2"
            )
        return None
    return Spots(field, rinsed, unrinsed, args.dried)


def _page(found: RinseAnswer) -> str:
    """The answer as text: what to do first."""
    from finishlog.desk.rinse import words as said

    parts = [said.sentence(found), table(said.facts(found), indent=2)]
    if found.left.verdict != "cannot tell":
        parts.append(table(said.ladder_lines(found), right=(0,), indent=2))
    if found.meanwhile:
        parts.append("While the spots dry\n" + bullets(found.meanwhile))
    parts.append(bullets(found.notes))
    parts.append("Cautions\n" + bullets(f"! {caution.text}" for caution in found.cautions))
    parts.append("Sources\n" + bullets(f"- {source}" for source in found.sources))
    return "\n\n".join(part for part in parts if part)
