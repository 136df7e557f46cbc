"""Every reader of what somebody typed or sent, by name, with texts that it takes; and what it owes to any other.

A reader answers a value, or refuses in one line that says what is wrong; it never fails otherwise, never hangs, and
what it says can be shown.
"""

from __future__ import annotations

import json
import re
import time
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zoneinfo import ZoneInfo

from finishlog import plain, settings, units
from finishlog.errors import FinishlogError, InputError, LogError
from finishlog.inputs import ages, blend, boxes, colors, fields, jobs, moments, readers, rinse, until, weather
from finishlog.inputs.entry import entries
from finishlog.inputs.paper_log import cells, days, mapping, sheet, workbook
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.papers.files import file_name
from finishlog.papers.reminders.mail import check_address
from finishlog.store.archive import csv_text, proof
from finishlog.store.archive import read as archive
from finishlog.store.entering.handles import is_handle
from finishlog.store.schema.fold import key, slug, tokens
from finishlog.trade.pour import takeoff
from finishlog.units import QUANTITIES

NOW = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
ZONE = ZoneInfo("America/Chicago")
LONGEST_S = 2.0
"""CPU for one text: none of them is longer than a few hundred characters."""
LONGEST_LINE = 2000


@dataclass(frozen=True)
class Target:
    """A reader, texts that it takes, and how to check what it answered."""

    read: Callable[[str], Any]
    seeds: tuple[str, ...]
    check: Callable[[str, Any], None] = lambda text, value: None


def holds(target: Target, text: str) -> None:
    """One text through one reader. AssertionError, or the fault itself, where it owes more."""
    began = time.process_time()
    try:
        value = target.read(text)
    except (InputError, LogError) as refusal:
        _is_one_line(refusal)
    else:
        target.check(text, value)
    assert time.process_time() - began < LONGEST_S, f"slow: {text[:200]!r}"


def _is_one_line(refusal: FinishlogError) -> None:
    assert refusal.title.strip(), refusal
    line = plain.visible(refusal.line())
    assert len(line) < LONGEST_LINE, len(line)


def _same_again(read: Callable[[str], Any], write: Callable[[Any], str]) -> Callable[[str, Any], None]:
    def check(text: str, value: Any) -> None:
        assert read(write(value)) == value, (text, value, write(value))

    return check


# numbers with units


def _quantity(what: str) -> Target:
    asked = QUANTITIES[what]
    seeds = (
        *re.split(r", | or ", asked.example),
        f"1.350 {asked.us[1]}",
        f"5 1/2 {asked.us[1]}",
        f"½ {asked.us[1]}",
    )

    def check(text: str, value: Any) -> None:
        assert abs(value) < 10**12, value
        assert plain.visible(units.write(what, value)) == units.write(what, value)

    return Target(lambda text: units.read(what, text), seeds, check)


_NEEDED: Mapping[str, Mapping[str, str]] = {
    "load": {"area": "field"},
    "reading": {"color": "62,4,16"},
    "claim": {"complaint": "lighter"},
    "approval": {"sample": "12", "signed_by": "Ottoline"},
    "sample": {"pigment": "Rust", "percent": "3 %"},
}


def _entry(kind: str) -> Target:
    context = entries.Context(NOW, ZONE, ("field", "border"), (1, 2))
    asked = entries.fields_of(kind, context)

    def read(text: str) -> Any:
        name, _, said = text.partition("=")
        return entries.read(kind, {**_NEEDED.get(kind, {}), "at": "-2h", name: said}, context)

    def check(text: str, value: Any) -> None:
        for wrong in value[1]:
            assert "\n" not in plain.visible(wrong.what)

    return Target(read, tuple(f"{field.key}={field.sample}" for field in asked), check)


# sheets, archives, settings: files


def _of_bytes(name: str, use: Callable[[Path], Any]) -> Callable[[str], Any]:
    def read(text: str) -> Any:
        with TemporaryDirectory() as folder:
            path = Path(folder) / name
            path.write_bytes(_bytes(text))
            return use(path)

    return read


def _bytes(text: str) -> bytes:
    """A half of a character stands for a byte that is no UTF-8, where it can."""
    try:
        return text.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:
        return text.encode("utf-8", "replace")


def _sheet(path: Path) -> Any:
    text, columns = sheet.read_text(path), fields.columns(PourRow)
    return sheet.read_header(text, columns), list(sheet.read_rows(text, columns, ("customer",)))


def _export(path: Path) -> Any:
    path.rename(path.with_name(archive.JSON_NAME))
    return archive.read(path.parent)


def _settings(path: Path) -> Any:
    machine, said = settings.read(path)
    assert "\n" not in plain.visible(said)
    assert machine.place
    settings.write(path, machine)
    again, said = settings.read(path)
    assert (again, said) == (machine, "")
    return machine


def _workbook(text: str) -> str:
    """A workbook with this text for its only sheet's cells."""
    made = BytesIO()
    with zipfile.ZipFile(made, "w") as book:
        book.writestr("[Content_Types].xml", _bytes(text))
        book.writestr("xl/workbook.xml", _bytes(text))
    return workbook.as_csv(made.getvalue(), "book.xlsx")


def _proof(text: str) -> list[bool]:
    return [proof._holds(look, text) for look in (*proof._BY_TYPE.values(), *proof._BY_NAME.values())]


def _csv(text: str) -> Any:
    value = text.replace("\r", "").replace("\0", "")
    header, rows = csv_text.read(csv_text.write(("a",), [(value,)]), (str,))
    assert rows == [(value,)], rows
    return header


def _shown(text: str) -> str:
    shown = plain.visible(text)
    assert plain.visible(shown) == shown
    assert "\n" not in shown
    return shown


def _file_name(text: str) -> str:
    name = file_name(text, ".eml")
    assert Path(name).name == name
    assert name.isascii()
    assert name[0] not in ".-"
    assert len(name) < 150
    return name


def _folded(text: str) -> Any:
    if is_handle(text):
        assert file_name(text) in (text, f"job-{text}"[: len(file_name(text))])
    return key(text), tokens(text), slug(text)


MOMENTS = (
    "7:10a",
    "about 7:30",
    "Jun 4 7:10a",
    "2026-06-04 07:10",
    "yesterday 2p",
    "-2h",
    "8/2024",
    "spring 2023",
    "2026-11-01T01:30-06:00",
    "last friday noon",
    "6/14",
    "winter 2023-24",
    "half an hour ago",
)
UNTIL = ("tomorrow", "Fri", "in 2 days", "Jun 20", "tomorrow 7a", "in 6 months", "2026-08-14")
AREAS = (
    jobs.AREAS,
    jobs.SHAPED,
    "yard circle 6 4in",
    "a triangle 9x6",
    "p polygon 0,0 24,0 24,18",
    "s edge 20x1x8in",
)
EXPORT = json.dumps(
    {"format": archive.FORMAT, "schema": "0001", "tables": {"a": {"columns": ["x"], "rows": [["1"]]}}}
)
SETTINGS = (
    'theme = "shade"\nwho = "crew"\nlast_log = "a"\n[keys]\n"job.log" = "l"\n',
    "theme = 1",
    "outdoors = true",
)
CSV = (
    "customer,street,poured_on,base\nBo,1 Lane,2025-05-14,Rust\n",
    "Date;Kunde\n1.5.2025;Bo\n",
    "sep=;\na;b\n",
)

TARGETS: Mapping[str, Target] = {
    **{f"quantity {what}": _quantity(what) for what in QUANTITIES},
    **{f"entry {kind.key}": _entry(kind.key) for kind in entries.kinds() if kind.comes},
    "number": Target(units.number_from, ("1 1/2", "1,350", "½", ".5")),
    "dose": Target(units.read_dose, ("7 lb/yd3", "1.5 lb/sack", "4 %", "13 kg/m3")),
    "ratio": Target(units.read_ratio, ("1:2", "20:1")),
    "count": Target(units.read_count, ("3", "1000")),
    "temperature": Target(units.read_temperature_f, ("70F", "21 C", "-5")),
    "date": Target(units.read_date, ("2025-06-16", "Jun 16 2025", "16 June 2025")),
    "rough day": Target(units.read_rough, ("8/2024", "spring 2023", "winter 2023-24", "Aug 2024")),
    "days off": Target(units.read_days_off, ("2026-07-04, 2026-07-06", "12-25, Jul 4")),
    "months": Target(units.read_months, ("4-10", "Apr to Oct", "1")),
    "moment": Target(
        lambda text: moments.read_moment(text, NOW, ZONE), MOMENTS, lambda text, value: _again(value)
    ),
    "until": Target(lambda text: until.read_until(text, NOW, ZONE), UNTIL),
    "until day": Target(lambda text: until.read_day(text, date(2026, 6, 16)), UNTIL),
    "time of day": Target(readers.read_time, ("14:30", "2:30 pm", "7a")),
    "name": Target(readers.read_name, ("Ottoline Quillfeather",)),
    "e-mail": Target(readers.read_email, ("ottoline@example.com",)),
    "phone": Target(readers.read_contact, ("555-0142",)),
    "sample": Target(readers.read_sample, ("S-12", "12")),
    "age": Target(ages.read_age_days, ("14 d", "36 h", "2 months")),
    "color": Target(colors.read, ("58.2, 9.1, 17.4", "#a08060", "10YR 5/3")),
    "color sd": Target(colors.read_sd, ("0.5, 0.4, 0.4", "0.5")),
    "box": Target(boxes.read_box, ("base=400,300,200,150", "release color=1,1,5,5")),
    "gray": Target(boxes.read_gray, ("900,400,80,80",)),
    "corners": Target(boxes.read_corners, ("1,1 5,1 5,5 1,5",)),
    "humidity": Target(weather.read_humidity, ("50", "50 %")),
    "degrees": Target(weather.read_degrees, ("5 F", "3 C")),
    "release left": Target(rinse.read_share, ("20 %", "20")),
    "blend dose": Target(blend.read_dose_percent, ("4", "4 %")),
    "maximum": Target(blend.read_maximum, ("Rust=6", "8")),
    "pigments": Target(blend.read_pigments, ("Rust, Straw",)),
    "areas": Target(jobs.read_areas, AREAS),
    "buried": Target(jobs.read_buried, (jobs.BURIED,)),
    **{
        f"shape {kind}": Target(
            lambda text, kind=kind: takeoff.shape_ft2(takeoff.read_shape(kind, text)), seeds
        )  # type: ignore[misc]
        for kind, seeds in {
            "rect": ("24x18", "24'6\" x 18'"),
            "circle": ("6",),
            "polygon": ("0,0 24,0 24,18",),
            "round": ("4r2",),
        }.items()
    },
    **{
        f"extra {kind}": Target(
            lambda text, kind=kind: takeoff.extra_yd3(takeoff.read_extra(kind, text)), seeds
        )  # type: ignore[misc]
        for kind, seeds in {"edge": ("40x1x8in",), "stairs": ("3x4x7x11",)}.items()
    },
    "job": Target(
        lambda text: jobs.read({"customer": text, "areas": text, "poured_on": "2026-06-01"}),
        ("Bo", "field 24x18 4in"),
    ),
    "address": Target(check_address, ("o@example.com",)),
    "day in a sheet": Target(
        lambda text: (
            days.readings(text, date(2026, 6, 16)),
            days.looks_like_day(text),
            days.after(text, date(2026, 6, 1)),
        ),
        ("6/14/25", "14.6.2025", "45000", "3 days"),
    ),
    "cell": Target(
        lambda text: [
            cells.tidy(name, text, commas=commas)
            for name in ("yards", "base", "returned", "poured_on")
            for commas in (False, True)
        ],
        ("11#", "1,020", "~6.5", "none", "12x20"),
    ),
    "color and dose": Target(lambda text: cells.color_and_dose(text, text), ("Rust 4%", "Rust 7 lbs a yard")),
    "column": Target(
        lambda text: (mapping.header_key(text), mapping.setting_key([text])), ("Poured On", "\ud800")
    ),
    "order of days": Target(mapping.need_order, ("mdy",)),
    "sheet": Target(_of_bytes("pours.csv", _sheet), CSV),
    "workbook": Target(_workbook, ("<a/>", '<?xml version="1.0"?><workbook/>')),
    "export": Target(_of_bytes("in", _export), (EXPORT,)),
    "settings": Target(_of_bytes("settings.toml", _settings), SETTINGS),
    "value of an export": Target(
        _proof, ("2026-06-16", "2026-06-16T12:40:00.000000Z", '{"a": 1}', "America/Chicago", "bo-patio")
    ),
    "csv": Target(_csv, ("=1+1", "+1 555 0100", "'a")),
    "shown": Target(_shown, ("a\x1b[31m", "\u202e")),
    "file name": Target(_file_name, ("bo-patio", "../../evil", "con")),
    "folded": Target(_folded, ("Café", "O'Dell")),
}


def _again(value: Any) -> None:
    """The text written of a moment reads as the same moment."""
    text = moments.text_of(value.instant, value.exactness, ZONE)
    again = moments.read_moment(text, NOW, ZONE)
    assert (again.instant, again.exactness) == (
        value.instant.replace(second=0, microsecond=0),
        value.exactness,
    ), text
