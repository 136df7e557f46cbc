"""`read`: colors off a photo, by a 24-patch card or a gray card in it; with a job, into its log."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishlog.cli.options import option_of, read_option
from finishlog.cli.output import bullets, note, say, say_json, table
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.photo.measured import Measured
    from finishlog.desk.services import Services

_MORE = """\
The extra finishlog[card] finds the card; without it, give its four
corners, in any order: those of the black frame, or of the patches. Boxes are left,
top, width and height in pixels of the upright photo, or in fractions of it.

  finishlog read slab.jpg --box base=400,300,200,150 --box "release color=900,310,60,40"
  finishlog read slab.jpg --box base=0.4,0.3,0.1,0.1 --corners "310,220 905,236 890,640 300,618"
A sample beside the card, read once before, makes colors like its own surer:
  finishlog read slab.jpg --box base=400,300,200,150 --chip 12=700,300,60,60
With a job, the photo goes into its log, with one reading per box:
  finishlog read hill-patio slab.jpg --box base=400,300,200,150 --dry --bare
  finishlog read hill-patio 12 --box field=400,300,900,700
"""
_STATE = {"damp": "--damp or --dry", "sealed": "--sealed or --bare"}
_FACTS = ("damp", "sealed", "area", "taken", "light", "by")


def register(commands: Any) -> None:
    """Add `read` to the commands."""
    command = commands.add_parser(
        "read",
        help="read colors off a photo with a color card",
        description="Read colors off a photo with a 24-patch card or a gray card, with their uncertainty.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.add_argument("what", nargs="+", metavar="[JOB] PHOTO",
                         help="a photo; with a job before it, also its entry in the log")  # fmt: skip
    text = "a place and what it shows: base, release color, field, rinsed, unrinsed; repeat"
    command.add_argument("--box", action="append", default=[], metavar="WHAT=X,Y,W,H", help=text)
    command.add_argument("--corners", metavar="CORNERS", help="the card's corners: x,y four times")
    command.add_argument("--gray", metavar="X,Y,W,H", help="where a gray card is, instead of a 24-patch one")
    text = "concrete of known color in the frame: a sample's number, or its L,a,b, and a place; repeat"
    command.add_argument("--chip", action="append", default=[], metavar="SAMPLE=X,Y,W,H", help=text)
    command.add_argument("--camera", metavar="NAME", help="the camera, if the photo does not name it")
    wet = command.add_mutually_exclusive_group()
    wet.add_argument("--damp", dest="damp", action="store_const", const="yes", help="it is damp")
    wet.add_argument("--dry", dest="damp", action="store_const", const="no", help="it is dry")
    coat = command.add_mutually_exclusive_group()
    coat.add_argument("--sealed", dest="sealed", action="store_const", const="yes", help="it is sealed")
    coat.add_argument("--bare", dest="sealed", action="store_const", const="no", help="it is bare")
    command.add_argument("--area", metavar="NAME", help="the area read")
    command.add_argument("--sample", metavar="N", help="the number of the sample read")
    command.add_argument("--light", metavar="LIGHT", help="sun, open shade, overcast or indoors")
    command.add_argument("--taken", metavar="WHEN", help="when, if the photo does not say")
    command.add_argument("--by", metavar="WHO", help="who took it")
    command.add_argument("--because", metavar="TEXT", help="why, if something is odd; kept with it")
    command.add_argument("--json", action="store_true", help="one JSON object")
    command.set_defaults(run=run_read)


def run_read(args: argparse.Namespace, services: Services) -> int:
    """`finishlog read`."""
    from finishlog.desk.photo import reading
    from finishlog.desk.photo.beside import Told
    from finishlog.inputs import boxes as places

    *job, photo = args.what
    if len(job) > 1 or not photo:
        raise InputError("Name one photo, with its job first to log it.", where="PHOTO",
                         example="finishlog read hill-patio slab.jpg")  # fmt: skip
    boxes = [read_option("box", text, places.read_box) for text in args.box]
    corners = option_of(args, "corners", places.read_corners)
    gray = option_of(args, "gray", places.read_gray)
    told = Told(args.camera or "", tuple(read_option("chip", text, places.read_chip) for text in args.chip))
    if job:
        return _logged(args, services, job[0], photo, (boxes, corners, gray, told))
    for option in (*_FACTS, "sample", "because"):
        if getattr(args, option) is not None:
            raise InputError("That goes with a job's photo; name the job.", where=f"--{option}",
                             example="finishlog read hill-patio slab.jpg")  # fmt: skip
    found = reading.of_file(services, Path(photo), boxes, corners=corners, gray=gray, told=told)
    _answer(args, found)
    return 0


def _logged(args: argparse.Namespace, services: Services, job: str, photo: str, where: Any) -> int:
    from finishlog.desk.photo import as_json, reading
    from finishlog.desk.photo.photos import PhotoFacts
    from finishlog.units import read_count

    boxes, corners, gray, told = where
    facts = PhotoFacts(**{name: getattr(args, name) or "" for name in _FACTS})
    sample = option_of(args, "sample", read_count)
    try:
        done = reading.read(services, job, photo, boxes, corners=corners, gray=gray, facts=facts, sample=sample,
                            because=args.because, about=told)  # fmt: skip
    except InputError as wrong:
        raise _of_an_option(wrong) from None
    if args.json:
        say_json(as_json.measured_json(done.measured, done))
    else:
        _answer(args, done.measured)
        say("\n" + as_json.kept_sentence(done))
    for warning in done.warnings:
        note(warning)
    return 0


def _of_an_option(wrong: InputError) -> InputError:
    """What is asked of a field, asked of the options that answer it."""
    either = _STATE.get(wrong.where)
    return wrong if either is None else InputError(wrong.title, wrong.cause, where="read", example=either)


def _answer(args: argparse.Namespace, found: Measured) -> None:
    from finishlog.desk.photo import as_json as said

    if args.json:
        say_json(said.measured_json(found))
        return
    parts = [said.sentence(found)]
    if found.spots:
        parts.append(table(said.spot_rows(found), indent=2) + f"\n  {said.PLUS_MINUS}")
    if found.apart:
        parts.append(
            "Within this photo, ± one standard deviation\n" + table(said.apart_rows(found), indent=2)
        )
    if found.left:
        parts.append(said.left_sentence(found))
    if found.notes:
        parts.append(bullets(f"! {each}" for each in found.notes))
    say("\n\n".join(parts))
