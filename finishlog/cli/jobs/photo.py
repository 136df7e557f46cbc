"""`photo`: pictures of a job into its log, and the list of those it has."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishlog.cli.output import note, say, say_json, table
from finishlog.desk.plain_data import Json, pick
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.photo.photos import Added, PhotoLine, Progress
    from finishlog.desk.services import Services

_MORE = """\
Each photo is kept byte for byte beside the log, known by its content: a
duplicate is recognized. The time comes from the photo; a camera with no UTC
offset is taken to be on the site's own clock. Give what the photos share once
for all of them:

  finishlog photo hill-patio IMG_0412.jpg IMG_0413.jpg --dry --bare --light overcast
  finishlog photo hill-patio ~/phone/june --area border --damp
  finishlog photo hill-patio scan.png --taken "Jun 4 9a"
The photos a job has, by age:
  finishlog photo hill-patio
"""
_EVERY_S = 1.0


def register(commands: Any) -> None:
    """Add `photo` to the commands."""
    photo = commands.add_parser(
        "photo",
        help="add photos of a job",
        description="Add photos of a job, files or whole folders; without any, list its photos.",
        epilog=_MORE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    photo.add_argument("job", metavar="JOB", help="the job's handle, or the start of it")
    photo.add_argument("files", metavar="FILE", nargs="*", help="a photo, or a folder of photos")
    photo.add_argument("--area", metavar="NAME", default="", help="the area; all: the whole job")
    wet = photo.add_mutually_exclusive_group()
    wet.add_argument("--damp", dest="damp", action="store_const", const="yes", default="", help="it is damp")
    wet.add_argument("--dry", dest="damp", action="store_const", const="no", help="it is dry")
    coat = photo.add_mutually_exclusive_group()
    coat.add_argument(
        "--sealed", dest="sealed", action="store_const", const="yes", default="", help="it is sealed"
    )
    coat.add_argument("--bare", dest="sealed", action="store_const", const="no", help="it is bare")
    photo.add_argument("--light", metavar="LIGHT", default="", help="sun, open shade, overcast or indoors")
    photo.add_argument("--taken", metavar="WHEN", default="",
                       help='when, if they do not say: "Jun 4 9a", 2026-06-04; or unknown')  # fmt: skip
    photo.add_argument("--by", metavar="WHO", default="", help="who took them")
    photo.add_argument("--note", metavar="TEXT", default="", help="anything else")
    photo.add_argument("--because", metavar="TEXT", help="why, if one is odd; kept with it")
    photo.add_argument("--json", action="store_true", help="one JSON object")
    photo.set_defaults(run=run_photo)


def run_photo(args: argparse.Namespace, services: Services) -> int:
    """`photo`: take pictures in, or list those the job has."""
    from finishlog.desk.photo import photos

    if not args.files:
        _list(photos.of_job(services, args.job), args.json)
        return 0
    if "" in args.files:
        raise InputError("The path is empty.", where="FILE", example="IMG_0412.jpg")
    names = ("area", "damp", "sealed", "light", "taken", "by", "note")
    facts = photos.PhotoFacts(**{name: getattr(args, name) for name in names})
    paths = [Path(name) for name in args.files]
    done = photos.add(services, args.job, paths, facts, because=args.because, progress=_progress())
    if args.json:
        say_json(as_json(done))
    else:
        _tell(done)
    _tell_rest(done)
    return 0 if done.kept or done.doubles else InputError.exit_status


def _progress() -> Progress:
    """Says how far it is, once a second at most."""
    last = time.monotonic()

    def tell(done: int, total: int) -> None:
        nonlocal last
        if done < total and time.monotonic() - last >= _EVERY_S:
            last = time.monotonic()
            note(f"{done} of {total} files…")

    return tell


def _tell(done: Added) -> None:
    say(done.sentence)
    if done.kept:
        say(table(_rows(done.kept), indent=2))


def _rows(lines: tuple[PhotoLine, ...]) -> list[tuple[str, ...]]:
    return [(str(line.entry), line.taken, line.age, _said(line)) for line in lines]


def _said(line: PhotoLine) -> str:
    states = (
        line.area,
        {True: "damp", False: "dry"}.get(line.damp) if line.damp is not None else None,
        {True: "sealed", False: "bare"}.get(line.sealed) if line.sealed is not None else None,
        line.light.replace("_", " ") if line.light else None,
        f"{line.readings} read" if line.readings else None,
    )
    told = ", ".join(state for state in states if state)
    return f"{line.name}: {told}" if told else line.name


def _tell_rest(done: Added) -> None:
    """What did not come in, and what is worth knowing of what did: beside the answer."""
    for line in done.kept:
        for remark in line.notes:
            note(f"finishlog: {line.name}: {remark}")
    for double in done.doubles:
        note(f"finishlog: {double.name}: Already in the log, as entry {double.entry}.")
    for asked in done.asked:
        note(f'finishlog: {asked.name}: {" ".join(asked.doubts)} Like --taken "Jun 4 9a" or --because "…".')
    for left in done.left_out:
        note(f"finishlog: {left.name}: {left.why}")
    if not (done.kept or done.doubles):
        print("finishlog: FILE: No photos added.", file=sys.stderr)


def _list(lines: tuple[PhotoLine, ...], as_object: bool) -> None:
    if as_object:
        say_json([_line_json(line) for line in lines])
        return
    say(table(_rows(lines)) if lines else "No photos yet.")


_LINE = (
    "entry file=name sha256 photo.format width_px=photo.width height_px=photo.height",
    "area damp sealed light readings notes",
)


def as_json(done: Added) -> Json:
    """One object: what was kept, and what was not with its reason."""
    return {
        "job": done.job,
        "kept": [_line_json(line) for line in done.kept],
        "doubles": [pick(double, "file=name entry") for double in done.doubles],
        "asked": [pick(asked, "file=name doubts") for asked in done.asked],
        "left_out": [pick(left, "file=name why") for left in done.left_out],
    }


def _line_json(line: PhotoLine) -> Json:
    taken = None if line.photo.clock == "unknown" else line.happened.isoformat()
    age_h = None if line.age_h is None else round(line.age_h, 2)
    aged = {"taken_at": taken, "clock": line.photo.clock, "age_h": age_h}
    return {**pick(line, _LINE[0]), **aged, **pick(line, _LINE[1])}
