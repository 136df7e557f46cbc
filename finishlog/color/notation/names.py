"""A color's plain name, and the color that a text names.

The name is the ISCC-NBS block whose centroid is nearest.

Source: names, Kelly and Judd, NBS Special Publication 440, 1976; centroids, Kelly, J. Res. NBS 61(5):427,
1958 (RP 2911). The file `finishlog/data/iscc_nbs.csv` says how the L*a*b* beside them were derived.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from operator import itemgetter

from finishlog.color.notation.space import HUE, LONGEST, Lab, difference, hex_to_lab, munsell_to_lab
from finishlog.errors import InputError

EXAMPLES = "#a9927a, 10YR 6/3 or 62,4,16"

# ΔE00 is never below |ΔL*| divided by this, the largest S_L (at L* 0 or 100).
LIGHTNESS_WINDOW = 1.7471

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d+)?|\.\d+)", re.ASCII)
_LIKE_NUMBER = re.compile(r"\s*[+\-\u2212]?\.?(?:\d|nan\b|inf)", re.IGNORECASE)
_LIKE_HEX = re.compile(r"#(?:[0-9a-zA-Z]{6}|(?!\d{3}$)[0-9a-fA-F]{3})", re.ASCII)
_LIKE_MUNSELL = re.compile(rf"(?:{HUE}|N)\s*[\d.]+\s*/\s*\S*", re.IGNORECASE)
_FARTHEST = 128.0


@dataclass(frozen=True, slots=True)
class Centroid:
    """One ISCC-NBS block, 1 to 267. `lab` (D65, 2°) is None if a very dark notation has no conversion."""

    number: int
    name: str
    munsell: str
    lab: Lab | None


@dataclass(frozen=True, slots=True)
class ColorName:
    """A block's number, name and central Munsell notation, and how far the color is from it (ΔE00)."""

    number: int
    name: str
    munsell: str
    de00: float


@cache
def centroids() -> tuple[Centroid, ...]:
    """The 267 blocks by number, four of them without L*a*b*."""
    text = files("finishlog").joinpath("data/iscc_nbs.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return tuple(_centroid(row) for row in rows)


def _centroid(row: dict[str, str]) -> Centroid:
    lab = (float(row["L_D65"]), float(row["a_D65"]), float(row["b_D65"])) if row["L_D65"] else None
    return Centroid(int(row["number"]), row["name"], row["munsell_centroid"], lab)


def nearest(lab: Sequence[float]) -> ColorName:
    """The nearest block by CIEDE2000; L* 0 to 100, a*, b* finite; the lower number where equally near.

    Nearest centroid, not the block's own boundaries: near a border the neighbor's may be the official one.
    """
    lightness, a, b = lab
    return _nearest((float(lightness), float(a), float(b)))


def nearest_name(lab: Sequence[float]) -> str:
    """The plain name alone, lower case as in a sentence: `light grayish yellowish brown`."""
    return nearest(lab).name.lower()


def _by_lightness(lightness: float) -> Iterator[tuple[float, Lab, Centroid]]:
    """How far each block is at least, its centroid, the block."""
    for block in centroids():
        if block.lab is not None:
            yield abs(block.lab[0] - lightness) / LIGHTNESS_WINDOW, block.lab, block


@lru_cache(maxsize=4096)
def _nearest(lab: Lab) -> ColorName:
    best: ColorName | None = None
    for least, centroid, block in sorted(_by_lightness(lab[0]), key=itemgetter(0)):
        if best and least > best.de00:
            break
        de00 = difference(centroid, lab).de00
        if best is None or (de00, block.number) < (best.de00, best.number):
            best = ColorName(block.number, block.name, block.munsell, de00)
    assert best is not None
    return best


def read_color(text: str) -> Lab | None:
    """The color a text names: `#a9927a`, `10YR 6/3`, `N 5/` or `62,4,16` (L*, a*, b*).

    None for text not meant as a color (words, a ticket such as `#4412` or `#K4412`), InputError
    for a malformed one. Six digits after # are a color. L* 0 to 100, a* and b* -128 to 128.
    """
    trimmed = text.strip()
    if len(trimmed) > LONGEST:
        return None
    if _LIKE_HEX.fullmatch(trimmed):
        return hex_to_lab(trimmed)
    parts = trimmed.split(",")
    if len(parts) == 3 and all(_LIKE_NUMBER.match(part) for part in parts):
        return _read_lab([part.strip() for part in parts])
    return munsell_to_lab(trimmed) if _LIKE_MUNSELL.fullmatch(trimmed) else None


def need_color(text: str) -> Lab:
    """Like `read_color`, but InputError for any other text too."""
    lab = read_color(text)
    if lab is None:
        raise InputError("This is not a color.", "Screen color, Munsell or L*,a*,b*.", example=EXAMPLES)
    return lab


def _read_lab(parts: list[str]) -> Lab:
    if not all(_NUMBER.fullmatch(part) for part in parts):
        raise _no_lab("L*, a* and b* are three plain numbers with commas between.")
    lightness, a, b = (float(part) for part in parts)
    if not 0 <= lightness <= 100:
        raise _no_lab("L* is 0 (black) to 100 (white).")
    if max(abs(a), abs(b)) > _FARTHEST:
        raise _no_lab("a* and b* are -128 to 128.")
    return lightness, a, b


def _no_lab(cause: str) -> InputError:
    return InputError("This color cannot be read.", cause, example="62,4,16")
