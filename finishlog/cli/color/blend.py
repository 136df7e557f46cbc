"""`blend`: the dose of each pigment for a wanted color, from the shop's own samples."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from finishlog.cli.options import option_of, read_option
from finishlog.cli.output import bullets, say, say_json, table
from finishlog.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from finishlog.desk.blend.blend import BlendAnswer, BlendRequest
    from finishlog.desk.blend.samples import Samples
    from finishlog.desk.services import Services

_OPTIONS = (
    ("target", "COLOR", 'the wanted color, dry and bare: 58,9,17 or "7.5YR 6/4"'),
    ("cement", "KIND", "samples of this kind of cement only"),
    ("pigments", "A,B", "only these pigments; with --template, the sheet's"),
    ("samples", "FILE", "samples from a sheet; default: the log's"),
    ("ladder-readings", "FILE", "the ladder as read, a sheet like the samples'"),
    ("cementitious", "LB", "cement and other cementitious together, in lb/yd3"),
    ("scm", "LB", "the other cementitious in it, in lb/yd3"),
    ("template", "FILE", "write an empty sheet with the samples worth pouring, and stop"),
)


def register(commands: Any) -> None:
    """Add `blend` to the commands."""
    title = "pigment doses for a wanted color, from your own samples"
    command = commands.add_parser(
        "blend",
        help=title,
        description=title[0].upper() + title[1:] + ". A dose is percent of cementitious.",
        epilog="Example: finishlog blend --target 58,9,17 --samples samples.csv --pigments Rust,Straw",
        allow_abbrev=False,
    )
    for name, metavar, text in _OPTIONS:
        command.add_argument(f"--{name}", metavar=metavar, help=text)
    most = "the most of one pigment, Rust=6, or of all, in percent of cement; repeat"
    command.add_argument("--max-percent", action="append", default=[], metavar="PERCENT", help=most)
    command.add_argument("--json", action="store_true", help="answer as one JSON object")
    command.set_defaults(run=run_blend)


def run_blend(args: argparse.Namespace, services: Services) -> int:
    """`finishlog blend`."""
    from finishlog.desk.blend import as_json, blend, words

    if args.template is not None:
        return _template(args)
    answer = blend.answer(services, request(args))
    if args.json:
        say_json(as_json.blend_json(answer))
    else:
        say(_page(words.sentence(answer), answer, args.units))
    return 0


def request(args: argparse.Namespace) -> BlendRequest:
    """What was asked for. Raises InputError naming the option."""
    from fractions import Fraction

    from finishlog import units
    from finishlog.desk.blend.blend import BlendRequest
    from finishlog.inputs import blend as reading
    from finishlog.inputs.readers import read_name

    if args.target is None:
        raise InputError("The wanted color is missing.", where="--target", example="--target 58,9,17")

    total, maxima = _maxima(args)
    return BlendRequest(
        target=read_option("target", args.target, reading.read_color),
        cement=option_of(args, "cement", read_name),
        pigments=option_of(args, "pigments", reading.read_pigments) or (),
        samples=_sheet(args.samples),
        ladder=_sheet(args.ladder_readings),
        maximum_percent=total,
        maxima=maxima,
        cementitious_lb_per_yd3=option_of(args, "cementitious", units.read_content_lb_per_yd3),
        scm_lb_per_yd3=option_of(
            args, "scm", lambda text: units.read_content_lb_per_yd3(text, positive=False)
        )
        or Fraction(0),
    )


def _maxima(args: argparse.Namespace) -> tuple[float | None, Mapping[str, float]]:
    """The most of all together, and by pigment; the smaller where one is given twice."""
    from finishlog.inputs import blend as reading

    totals: list[float] = []
    maxima: dict[str, float] = {}
    for text in args.max_percent:
        name, percent = read_option("max-percent", text, reading.read_maximum)
        if name is None:
            totals.append(percent)
        else:
            maxima[name] = min(percent, maxima.get(name, percent))
    return min(totals, default=None), maxima


def _sheet(path: str | None) -> Samples | None:
    from finishlog.desk.blend.samples import of_sheet

    return None if path is None else of_sheet(path)


def _template(args: argparse.Namespace) -> int:
    from finishlog.inputs import blend as reading
    from finishlog.papers.files import new_file

    if args.pigments is None:
        example = "--template samples.csv --pigments Rust,Straw,Soot"
        raise InputError("The sheet needs its pigments.", where="--pigments", example=example)
    pigments = read_option("pigments", args.pigments, reading.read_pigments)
    with new_file(args.template, reading.template(pigments).encode(), where="--template") as target:
        pass
    if args.json:
        say_json({"file": str(target), "samples": len(reading.plan(len(pigments)))})
    else:
        say(f"Sheet saved to {target}: {len(reading.plan(len(pigments)))} samples to pour.")
    return 0


def _page(sentence: str, answer: BlendAnswer, system: str) -> str:
    """The answer as text: how sure it is, then the dose."""
    from finishlog.desk.blend import words as said

    parts = [sentence]
    if answer.found is not None:
        parts.append(table(said.dose_lines(answer, system), right=(1, 2), indent=2))
    parts.append(bullets([answer.advice], 0))
    if answer.ladder:
        parts.append("Ladder\n" + table(said.ladder_lines(answer), right=(0,), indent=2))
        if how := said.how_to_log(answer):
            parts.append("To log a rung and its reading\n" + bullets(how))
    if answer.unknown:
        parts.append("Unknown\n" + bullets(f"! {unknown.why}" for unknown in answer.unknown))
    parts.append("Cautions\n" + bullets(f"! {caution.text}" for caution in answer.cautions))
    parts.append("Sources\n" + bullets(f"- {source}" for source in answer.sources))
    return "\n\n".join(parts)
