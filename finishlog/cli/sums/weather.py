"""`weather`: evaporation and dew point, needing no log; with `--seal JOB`, whether that slab can be sealed now."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Any, Protocol

from finishlog.cli.output import bullets, say, say_json, table
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.desk.services import Services as LogServices
    from finishlog.records.quantities.weather import Readiness, WeatherAnswer
    from finishlog.records.shop import Shop

_NOW = (
    ("air", "TEMP", "the air, as 80F or 27C"),
    ("humidity", "PERCENT", "relative humidity"),
    ("wind", "SPEED", "average wind about 20 in above the slab, as 12mph or 19km/h"),
)
_SEAL = (
    ("coolest", "TEMP", "the coolest the slab gets until the sealer is tack-free"),
    ("rain-free", "HOURS", "how long it stays dry"),
    ("trend", "HOW", "the slab is cooling, steady or warming"),
    ("shade", "YES", "whether the slab is out of the sun"),
    ("efflorescence", "HOW", "none, cleaned or left"),
    ("sealer", "NAME", "the sealer going on; default: the last coat's, or the recipe's"),
)
SHEET = (
    ("sealer-low", "TEMP", "the coldest slab the sealer's sheet allows"),
    ("sealer-high", "TEMP", "the hottest"),
    ("sealer-humidity", "PERCENT", "the most humidity it allows"),
    ("sealer-age", "DAYS", "the youngest slab it allows"),
    ("sealer-rain-free", "HOURS", "how long it must stay dry"),
    ("sealer-recoat-from", "HOURS", "first hour for the next coat"),
    ("sealer-recoat-to", "HOURS", "last hour for the next coat"),
    ("sealer-dew-margin", "DEGREES", "how far above the dew point the slab must be, as 5F or 3C"),
)
"""From the sealer's own sheet; `shelf sheet` saves it with the product."""


class Services(Protocol):
    """What `weather` may ask of the log; it answers without one."""

    def shop(self) -> Shop: ...


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add `weather` to the commands."""
    title = "evaporation, dew point, and whether you can seal now"
    command = subparsers.add_parser(
        "weather", help=title, description=title, allow_abbrev=False,
        epilog="Example: finishlog weather --air 80F --concrete 87F --humidity 50 --wind 12mph",
    )  # fmt: skip
    command._negative_number_matcher = re.compile(r"-[\d.]")  # --air -5C is a temperature, not an option
    for option, metavar, text in _NOW:
        command.add_argument(f"--{option}", metavar=metavar, help=text)
    command.add_argument(
        "--concrete", "--slab", metavar="TEMP", help="the fresh concrete, or the slab to seal"
    )
    command.add_argument("--seal", metavar="JOB", help="can you seal this job's slab: yes, wait or no")
    command.add_argument("--area", metavar="NAME", help="which of its areas")
    for option, metavar, text in (*_SEAL, *SHEET):
        command.add_argument(f"--{option}", metavar=metavar, help=text)
    command.add_argument("--json", action="store_true", help="answer as one JSON object")
    command.set_defaults(run=run_weather)


def run_weather(args: argparse.Namespace, services: Services) -> int:
    """`weather`: evaporation and dew point; with --seal, whether a slab can be sealed."""
    from finishlog.inputs import weather as reading

    texts = {
        name: getattr(args, name.replace("-", "_")) for name, *_ in (*_NOW, ("concrete",), *_SEAL, *SHEET)
    }
    now, limits = reading.read_now(texts), reading.read_limits(texts)
    if args.seal is not None:
        return _seal(args, services, now, limits)  # type: ignore[arg-type]
    _only_with_seal(args)
    from finishlog.desk.bench import weather

    system = "us" if args.json else args.units
    answer = weather.weather(now, services.shop(), system)
    if args.json:
        say_json(weather.weather_json(answer))
    else:
        say(_text(answer, system))
    return 0


def _only_with_seal(args: argparse.Namespace) -> None:
    for name, *_ in (("area",), *_SEAL, *SHEET):
        if getattr(args, name.replace("-", "_")) is not None:
            raise InputError(f"--{name} is for sealing.", where=f"--{name}", example="--seal hill-patio")


def _seal(args: argparse.Namespace, services: LogServices, now: Any, limits: Any) -> int:
    from finishlog.desk.doubts import ready

    system = "us" if args.json else args.units
    answer = ready.seal(services, args.seal, args.area, now, limits, system, args.sealer)
    if args.json:
        say_json(ready.readiness_json(answer))
    else:
        say(_ready_text(answer, system))
    return 0


def _text(answer: WeatherAnswer, system: str) -> str:
    from finishlog.units import exact, fixed, write

    rows = []
    if answer.evaporation_lb_per_ft2_h is not None and answer.evaporation_kg_per_m2_h is not None:
        us = f"{fixed(exact(answer.evaporation_lb_per_ft2_h), 2)} lb/ft²/h"
        si = f"{fixed(exact(answer.evaporation_kg_per_m2_h), 2)} kg/m²/h"
        first, second = (si, us) if system == "metric" else (us, si)
        rows.append(("Evaporation", f"{first}  (Uno's other form: {second})"))
        limits = [fixed(limit, 2) for limit in (answer.care_at, answer.stop_at)]
        rows.append(("Limits", f"care at {limits[0]}, stop and protect at {limits[1]} lb/ft²/h"))
    dew, seal = (
        write("temperature_f", exact(t), system, 1) for t in (answer.dew_point_f, answer.dew_point_f + 5)
    )
    rows += [("Dew point", f"{dew}, over water"), ("To seal", f"the slab at {seal} or more until tack-free")]
    parts = [answer.sentence, table(rows, indent=2)]
    parts += [bullets(f"! {caution.text}" for caution in answer.cautions)] if answer.cautions else []
    return "\n\n".join((*parts, "  Sources\n" + bullets(f"- {source}" for source in answer.sources)))


def _ready_text(answer: Readiness, system: str) -> str:
    from finishlog.desk.doubts.sealer_sheet import rows

    marks = {"yes": "√", "wait": "~", "no": "×"}
    lines = [f"{marks[reason.verdict]} {reason.text}" for reason in answer.reasons]
    parts = [answer.sentence, bullets(lines)]
    if answer.unknown and answer.verdict != "yes":
        parts.append("  Not given\n" + bullets(f"? {text}" for text in answer.unknown))
    if answer.limits is not None:
        parts.append("  Limits\n" + table(rows(answer.limits, answer.by_sheet, system), indent=2))
    parts.append(bullets(f"! {caution.text}" for caution in answer.cautions))
    return "\n\n".join((*parts, "  Sources\n" + bullets(f"- {source}" for source in answer.sources)))
