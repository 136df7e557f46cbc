"""Test samples as a sheet: a column per pigment, in percent of cementitious, and the color read."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from finishlog import units
from finishlog.errors import InputError, naming
from finishlog.inputs import colors
from finishlog.inputs.asking import column
from finishlog.inputs.paper_log import sheet
from finishlog.inputs.paper_log.mapping import header_key
from finishlog.inputs.readers import read_name
from finishlog.records.color import PHOTO_SD, Lab, SampleRow

LARGEST_DOSE = 15
MOST_PIGMENTS, MOST_SAMPLES, MOST_PHOTOS = 12, 500, 99

COLUMNS = (
    column("sample", "sample", "its own number or name", "7"),
    column("cement", "cement", "kind of cement, if the sheet mixes several", "gray, Millbrook"),
    column("l", "L", "L* as read, dry and bare; blank: not read yet", "58.2"),
    column("a", "a", "a* as read", "9.1"),
    column("b", "b", "b* as read", "17.4"),
    column("sd", "sd", "the reading's uncertainty: one number, or three for L*, a*, b*", "0.6"),
    column("photos", "photos", "how many photos the reading averages; use three", "3"),
)
_NEEDED = ("l", "a", "b")
_PLAN = (0.8, 2.5, 6.0)
_MIXES = 3


@dataclass(frozen=True, slots=True)
class SampleSheet:
    """A sheet's pigments in order, its read samples, and how many are unread."""

    pigments: tuple[str, ...]
    samples: tuple[SampleRow, ...]
    unread: int


def template(pigments: Sequence[str]) -> str:
    """An empty sheet for these pigments with useful samples: plain, three of each alone, three mixes."""
    _must_differ(pigments)
    shown = [column for column in COLUMNS if column.key not in ("l", "a", "b")]
    width = max(len(column.title) for column in COLUMNS)
    lines = [
        "# One row per sample, of the same cement. A pigment's column is its dose in percent of cementitious.",
        "# Read each dry and bare once it has lightened (28 days or more), from three photos.",
        *(f"# {column.title:<{width}}  {column.help}. Like: {column.example}" for column in shown),
    ]
    header = ["sample", "cement", *(_cell(name) for name in pigments), "L", "a", "b", "sd", "photos"]
    rows = [header]
    for number, doses in enumerate(plan(len(pigments)), start=1):
        rows.append([str(number), "", *(f"{dose:g}" for dose in doses), "", "", "", "", "3"])
    return "\n".join(lines + [",".join(row) for row in rows]) + "\n"


def _must_differ(pigments: Sequence[str]) -> None:
    """Raises InputError if two pigments would share a column, or one clashes with the sheet's own."""
    taken = {header_key(name): "the sheet's own" for column in COLUMNS for name in (column.key, column.title)}
    for name in pigments:
        key = header_key(_pigment(name))
        if key in taken:
            title = f"The column “{units.shown(name)}” is {taken[key]} already."
            raise InputError(title, "Rename the pigment.", where="--pigments", example="Rust,Straw")
        taken[key] = "a pigment's"


def plan(pigments: int) -> tuple[tuple[float, ...], ...]:
    """Doses (percent) of informative samples: plain, each pigment alone at three doses, mixes of all."""
    alone = [tuple(dose * (i == j) for j in range(pigments)) for i in range(pigments) for dose in _PLAN]
    mixes = [
        tuple(round((3.0 if j == turn % pigments else 1.0) * share, 2) for j in range(pigments))
        for turn, share in zip(range(_MIXES), (0.5, 0.8, 1.1), strict=True)
    ]
    return (tuple(0.0 for _ in range(pigments)), *alone, *(mixes if pigments > 1 else ()))


def read_file(path: str) -> SampleSheet:
    """A sheet's samples. Raises InputError naming file and line."""
    text = sheet.read_text(Path(path))
    try:
        return _read(text)
    except InputError as wrong:
        raise wrong.at(f"{path}, {wrong.where}" if wrong.where else path) from None


def _read(text: str) -> SampleSheet:
    ours = {header_key(name): each.key for each in COLUMNS for name in (each.key, each.title)}
    headers = [name.strip() for name in sheet.read_header(text, COLUMNS) if name.strip()]
    pigments = tuple(_pigment(name) for name in headers if header_key(name) not in ours)
    if not pigments:
        cause = "A pigment's column has its name and holds its dose in percent."
        raise InputError("The header names no pigment.", cause, example="sample,Rust,Straw,L,a,b")
    if len(pigments) > MOST_PIGMENTS:
        raise InputError(f"{len(pigments)} pigments are too many, {MOST_PIGMENTS} at most.")
    _check_header(pigments, {ours.get(header_key(name)) for name in headers})
    names = [name for name in headers if header_key(name) not in ours]
    columns = (*COLUMNS, *(column(header_key(name), name, "", "") for name in names))
    found, unread = [], 0
    for row in sheet.read_rows(text, columns, _NEEDED):
        if isinstance(row, sheet.BadLine):
            raise InputError(row.what, where=f"line {row.line}")
        keys = dict(zip(pigments, (header_key(name) for name in names), strict=True))
        sample = _sample(row, keys)
        unread += sample is None
        found += [sample] if sample else []
    if len(found) > MOST_SAMPLES:
        raise InputError(f"{len(found)} samples are too many, {MOST_SAMPLES} at most.")
    return SampleSheet(pigments, tuple(found), unread)


def _check_header(pigments: Sequence[str], keys: Collection[str | None]) -> None:
    """Raises InputError if a color column is missing or a pigment has two."""
    lacking = next(
        (column.title for column in COLUMNS if column.key in _NEEDED and column.key not in keys), None
    )
    if lacking is not None:
        example = "the sheet that --template writes"
        raise InputError(f"The header has no column {lacking}.", where="header", example=example)
    lower = [name.casefold() for name in pigments]
    twice = next((name for name, low in zip(pigments, lower, strict=True) if lower.count(low) > 1), None)
    if twice is not None:
        title = f"The pigment “{units.shown(twice)}” is in the header twice."
        raise InputError(title, where="header", example="sample,Rust,Straw,L,a,b")


def _pigment(header: str) -> str:
    """A pigment's name without the header's unit."""
    return read_name(header.removesuffix("%").removesuffix("percent").rstrip(" _-,("))


def _cell(name: str) -> str:
    shielded = sheet.shield(read_name(name))
    return (
        '"' + shielded.replace('"', '""') + '"' if any(mark in shielded for mark in ',"\n\r;\t') else shielded
    )


def _sample(row: sheet.Row, pigments: Mapping[str, str]) -> SampleRow | None:
    """A row's sample; None if its color is blank, so not read yet."""
    blank = [key for key in _NEEDED if not row.cells.get(key, "").strip()]
    if len(blank) == len(_NEEDED):
        return None

    def one(key: str, what: str, reader: Callable[[str], object], default: object = None) -> object:
        text = row.cells.get(key, "").strip()
        with naming(f"line {row.line}, {what}"):
            return reader(text) if text else default

    if blank:
        raise InputError("Give L, a and b together.", where=f"line {row.line}", example="58.2, 9.1, 17.4")
    lab = one("l", "color", lambda _: read_color(",".join(row.cells[key].strip() for key in _NEEDED)))
    photos = one("photos", "photos", _read_photos)
    sd = one("sd", "sd", read_sd) or photo_sd(photos)  # type: ignore[arg-type]
    doses = {name: one(key, name, read_dose_percent, 0.0) for name, key in pigments.items()}
    cement = row.cells.get("cement", "").strip() or None
    name = row.cells.get("sample", "").strip() or f"line {row.line}"
    return SampleRow(name, cement, doses, lab, sd, photos)  # type: ignore[arg-type]


def photo_sd(photos: int | None) -> Lab:
    """Sd of the mean of so many photos; of one if not given."""
    L, a, b = (value / max(photos or 1, 1) ** 0.5 for value in PHOTO_SD)
    return L, a, b


def read_color(text: str) -> Lab:
    """L*a*b* of a slab, typed in any way a color is. Raises InputError."""
    return colors.read(text).lab


def read_sd(text: str) -> Lab:
    """One sd or three, above 0. Raises InputError."""
    found = colors.read_sd(text)
    if min(found) <= 0:
        raise InputError("Every reading has some error.", "An sd is above 0.", example="0.6")
    return found


def read_dose_percent(text: str) -> float:
    """A sample's dose in percent of cementitious, 0 to 15: samples may go beyond what a pour may. Raises InputError."""
    value = units.read_percent(text, positive=False)
    if value > LARGEST_DOSE:
        cause = f"Percent of cementitious, at most {LARGEST_DOSE} even for a test."
        raise InputError(f"{units.plain(value)} % is no dose of a sample.", cause, example="3.5")
    return float(value)


def _read_photos(text: str) -> int:
    count = units.read_count(text)
    if count > MOST_PHOTOS:
        raise InputError(f"{count} photos of one sample is too many to be true.", example="3")
    return count


def read_maximum(text: str) -> tuple[str | None, float]:
    """`Rust=6`: the most of one pigment; `8` alone: the most of all together. Percent. Raises InputError."""
    name, sign, percent = text.rpartition("=")
    value = float(units.read_percent(percent.strip()))
    if sign and not name.strip():
        raise InputError("Say which pigment it limits.", example="Rust=6")
    return (read_name(name.strip()) if sign else None), value


def read_pigments(text: str) -> tuple[str, ...]:
    """Names between commas. Raises InputError."""
    found = tuple(dict.fromkeys(read_name(name.strip()) for name in text.split(",") if name.strip()))
    if not found:
        raise InputError("No pigment named.", example="Rust,Straw")
    if len(found) > MOST_PIGMENTS:
        raise InputError(f"{len(found)} pigments are too many, {MOST_PIGMENTS} at most.")
    return found
