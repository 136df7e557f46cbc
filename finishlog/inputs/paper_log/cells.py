"""Normalizes one cell of a paper log: `11#`, `1,020`, `~6.5`, `none`, `12x20`, `7 lbs a yard`.

Changes only the notation, never the meaning; anything else stays as is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from finishlog.errors import InputError
from finishlog.inputs import fields
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.units import number_from, read_product

UNKNOWN = "unknown"
DAYS = frozenset(
    ("poured_on", "rinsed_on", "antiquing_on", "stain_on", "sealed_on", "resealed_on", "color_on", "claim_on",
     "sample_signed_on")
)  # fmt: skip
MATERIALS = frozenset(
    ("base", "base_2", "hardener", "release", "liquid_release", "antiquing", "stain", "sealer", "bag_product",
     "scm_kind")
)  # fmt: skip
"""Product columns, in which "none" means none, not a product of that name."""
MAY_BE_NOTHING = frozenset(("returned", "dumped", "water_gal", "scm", "edge_yd3"))
"""Columns in which none is an amount."""

_NONE = frozenset(
    (
        "none",
        "no",
        "n",
        "-",
        "--",
        "—",
        "–",
        "n/a",
        "na",
        "n.a.",
        "nil",
        "nothing",
        "not used",
        "none used",
        "x0",
    )
)
_UNSAID = frozenset(
    ("?", "??", "???", "unk", "tbd", "don't know", "dont know", "not sure", "can't remember", "null",
     "nan", "#n/a", "(blank)")
)  # fmt: skip
_WITHOUT = re.compile(
    r"(?:no|without|w/o) (?:integral )?(?:colou?r|pigment|release|powder|stamp|hardener|stain|wash|sealer|seal)"
    r"|uncolou?red|not (?:colou?red|sealed|stained)|unsealed"
)
_YES = frozenset(("yes", "y", "x", "✓", "✔"))
_DITTO = frozenset(
    ('"', "'", "''", '""', "〃", '-"-', '- " -', '" "', "″", "”", "’’", "do", "do.", "ditto", "dto", "same",
     "see above", "same as above", "as above", "same as last", "same as last job",
     "same as the last job", "same as last time", "same again", "same as before")
)  # fmt: skip
_THOUSANDS = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?(?![\d,])", re.ASCII)
_DOTTED = re.compile(
    r"(?<![\d.])\d{1,3}(?:\.\d{3})+(?![\d.])", re.ASCII
)  # where 6,75 is written, 1.150 is 1150
_DECIMAL_COMMA = re.compile(r"(?<![\d,])(\d+),(\d{1,2})(?![\d,])", re.ASCII)
_ABOUT = re.compile(
    r"^(?:~|≈|about|abt\.?|approx\.?|around|ca\.?|c\.) *(?=[\d.])|(?<=\d) *(?:ish|\+/-|\+-|±|or so|\?+)$"
)
_PER_YARD = re.compile(
    r"(?:#|lbs?\.?|pounds?)? *(?:/|per|a|ea|each|to the) *(?:cu\.? *)?(?:yards?|yds?\.?|cy|yd3|y)\.?$|(?:ppy|pcy)$"
)
_POUNDS = re.compile(r"(?:#|lbs?\.?|pounds?)$")
_PLANNED = re.compile(r"\d[\d' .\"]*[x×][\d' .\"]*\d['\"]?$", re.ASCII)

_WITH_DOSE = re.compile(
    r"(.*[^\W\d_].*?)[ ,@(-]+(\d[\d./ ]*(?:%|(?:#|lbs?\.?)(?: ?(?:/|per|a) ?(?:yds?|yard|cy|yd3)\.?)?))\)?",
    re.IGNORECASE,
)
_SAYS_DOSE = re.compile(r"\b(?:dose|dosage|rate|loading)\b|(?:#|lbs?) ?/ ?(?:yd|cy)", re.IGNORECASE)
"""A color's header under which `Name (11#)` is pounds per yard, not of the whole load."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A normalized cell; `about` if inexact, so that its original text is kept too."""

    text: str
    about: bool = False


def is_ditto(text: str) -> bool:
    """Whether it repeats the cell above."""
    return " ".join(text.casefold().split()).strip(" .") in _DITTO or text.strip() in _DITTO


def says_none(text: str) -> bool:
    """Whether a cell means there was none."""
    tidy = " ".join(text.casefold().split())
    return tidy in _NONE or _WITHOUT.fullmatch(tidy) is not None


def says_nothing(text: str) -> bool:
    """A question mark: unknown."""
    return " ".join(text.casefold().split()) in _UNSAID


def says_yes(text: str) -> bool:
    """Whether a cell says yes."""
    return " ".join(text.casefold().split()) in _YES


@cache
def is_free(key: str) -> bool:
    """Whether the column takes any text: a name or a note."""
    found, _ = fields.read(PourRow, {key: "zzz?"})
    return found is not None


def decimal_commas(cells: Iterable[str]) -> bool:
    """Whether the writer uses decimal commas: 6,75 for 6.75."""
    return any(_DECIMAL_COMMA.fullmatch(cell.strip()) for cell in cells)


def tidy(key: str, text: str, *, commas: bool = False) -> Cell:
    """The cell as the column's reader takes it. `commas`: decimal commas, 6,75 for 6.75."""
    if key in DAYS or is_free(key):
        return Cell(text)
    clean = " ".join(text.casefold().replace("\u00a0", " ").split())
    clean, times = _ABOUT.subn("", clean)
    if key in MAY_BE_NOTHING and clean in _NONE:
        return Cell("0")
    clean = _numbers(clean, commas=commas).strip()
    if key == "dose":
        clean = _dose(clean)
    elif key in ("area_ft2", "yards") and _PLANNED.fullmatch(clean) and key == "area_ft2":
        clean = _product(clean)
    elif key in ("rinse_age",):
        clean = clean.removesuffix("old").strip()
    elif key in ("base_lb", "release_lb", "hardener_lb", "base_2_lb"):
        clean = _POUNDS.sub(" lb", clean)
    return Cell(clean, times > 0)


def _numbers(text: str, *, commas: bool) -> str:
    if commas:
        plain = _DOTTED.sub(lambda match: match[0].replace(".", ""), text)
        return _DECIMAL_COMMA.sub(r"\1.\2", plain)
    return _THOUSANDS.sub(lambda match: match[0].replace(",", ""), text)


def _dose(text: str) -> str:
    """`11#/yd`, `20 lbs a yard`, `7 per yd` in the words that a dose is read by."""
    per_yard, times = _PER_YARD.subn("", text)
    if times and (number := _POUNDS.sub("", per_yard.strip()).strip()):
        return f"{number} lb/yd3"
    return re.sub(r"(?:#|lbs?\.?|pounds?) *(?:/|per|a) *(?:sacks?|sks?\.?|bags?)$", " lb/sack", text)


def _product(text: str) -> str:
    try:
        long, wide = read_product(text, ("length_ft", "length_ft"), "24x18")
    except InputError:
        return text
    return str(float(long * wide)) if (long * wide).denominator != 1 else str(int(long * wide))


def with_unit(key: str, text: str, unit: str | None) -> str:
    """`11#` of a dose, by its column's pounds per yard."""
    return f"{text}/yd3" if key == "dose" and unit == "lb/yd3" and is_pounds(text) else text


def color_and_dose(text: str, header: str) -> dict[str, str]:
    """`Wet Biscuit 11#/yd` as a color and its dose; so are `(11#)` and `4 %` where the header says dose."""
    match = _WITH_DOSE.fullmatch(text)
    says = _SAYS_DOSE.search(header)
    if match is None or (not says and (is_pounds(match[2]) or match[2].endswith("%"))):
        return {}
    return {"base": match[1].strip(), "dose": tidy("dose", with_unit("dose", match[2], "lb/yd3")).text}


def amount(text: str) -> Fraction | None:
    """A bare number or a sum of money, as a column of them is added up."""
    clean = text.strip().removeprefix("$").strip()
    return number_from(_numbers(clean, commas=_DECIMAL_COMMA.fullmatch(clean) is not None))


def is_pounds(text: str) -> bool:
    """`11#`, `11 lb`: a weight without "per …"."""
    return re.fullmatch(r"[\d. /-]*\d *(?:#|lbs?\.?|pounds?)", text.casefold().strip(), re.ASCII) is not None
