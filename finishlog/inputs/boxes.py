"""Places in a photo as typed: boxes with what they show, a card's corners, a gray card.

Measured in the upright picture from its upper left corner: in pixels, or in fractions of width and height if
none is above 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog import units
from finishlog.errors import InputError

if TYPE_CHECKING:
    from finishlog.color.photo.frame import Box

SHOWS = {
    "base": "base",
    "release color": "release color",
    "field": "field",
    "rinsed": "base",
    "unrinsed": "release color",
}
"""What a box may show, and the spot it is a reading of: a rinsed spot shows the base."""
_ALSO = {
    "release": "release color",
    "whole field": "field",
    "rinsed spot": "rinsed",
    "unrinsed spot": "unrinsed",
}
BOX_EXAMPLE = "base=400,300,200,150"
CHIP_EXAMPLE = '"12=700,300,60,60" or "58,9,17=700,300,60,60"'
GRAY_EXAMPLE = "900,400,80,80"
CORNERS_EXAMPLE = '"310,220 905,236 890,640 300,618"'
MOST = 100_000


@dataclass(frozen=True, slots=True)
class Place:
    """A rectangle: left, top, width, height; in pixels, or as fractions of the picture if none is above 1."""

    x: Fraction
    y: Fraction
    width: Fraction
    height: Fraction

    def within(self, width: int, height: int) -> Box:
        """In whole pixels of a picture of this size."""
        from finishlog.color.photo.frame import Box

        numbers = (self.x, self.y, self.width, self.height)
        if max(numbers) > 1:
            return Box(*(round(number) for number in numbers))
        left, top = round(self.x * width), round(self.y * height)
        right, bottom = round((self.x + self.width) * width), round((self.y + self.height) * height)
        return Box(left, top, right - left, bottom - top)


@dataclass(frozen=True, slots=True)
class Shown:
    """A place and what it shows: a key of `SHOWS`."""

    shows: str
    place: Place


def read_box(text: str) -> Shown:
    """`base=400,300,200,150`; base, release color, field, rinsed or unrinsed. Raises InputError."""
    name, equals, rest = text.partition("=")
    told = " ".join(name.replace("_", " ").replace("-", " ").split()).casefold()
    shows = _ALSO.get(told, told)
    if not equals or shows not in SHOWS:
        title = f"“{units.shown(name)}” is not a box label."
        raise InputError(title, f"A box shows {', '.join(SHOWS)}.", example=BOX_EXAMPLE)
    return Shown(shows, _place(rest, BOX_EXAMPLE))


@dataclass(frozen=True, slots=True)
class Chip:
    """A place where a piece of known concrete lies: the number of a sample in the log, or its `color` as typed."""

    sample: int | None
    color: str
    place: Place


def read_chip(text: str) -> Chip:
    """`12=700,300,60,60` (sample 12 of the log), `58,9,17=700,300,60,60` (its L*a*b*). Raises InputError."""
    name, equals, rest = text.partition("=")
    told = name.strip().casefold().removeprefix("sample").strip()
    if not equals or not told:
        cause = "A chip is a sample's number, or its color, and a place."
        raise InputError(f"“{units.shown(text)}” is no chip.", cause, example=CHIP_EXAMPLE)
    number = units.read_count(told) if told.isascii() and told.isdigit() else None
    return Chip(number, "" if number is not None else told, _place(rest, CHIP_EXAMPLE))


def read_gray(text: str) -> Place:
    """The box of a gray card: `900,400,80,80`. Raises InputError."""
    return _place(text, GRAY_EXAMPLE)


def read_corners(text: str) -> tuple[tuple[Fraction, Fraction], ...]:
    """Four corners in any order: `310,220 905,236 890,640 300,618`. Raises InputError."""
    points = text.replace(";", " ").split()
    pairs = tuple(_numbers(point, CORNERS_EXAMPLE) for point in points)
    if len(pairs) != 4 or any(len(pair) != 2 for pair in pairs):
        cause = "A card has four corners, each x,y, with spaces between them."
        raise InputError(f"“{units.shown(text)}” is not four corners.", cause, example=CORNERS_EXAMPLE)
    return tuple((x, y) for x, y in pairs)


def in_pixels(
    corners: Sequence[tuple[Fraction, Fraction]], width: int, height: int
) -> list[tuple[float, float]]:
    """Corners in pixels of a picture of this size."""
    across, down = (width, height) if max(max(pair) for pair in corners) <= 1 else (1, 1)
    return [(float(x * across), float(y * down)) for x, y in corners]


def _place(text: str, example: str) -> Place:
    numbers = _numbers(text, example)
    if len(numbers) != 4:
        cause = "A box is left, top, width and height."
        raise InputError(f"“{units.shown(text)}” is no box.", cause, example=example)
    place = Place(*numbers)
    if not (place.width and place.height):
        raise InputError("A box needs a width and a height.", example=example)
    return place


def _numbers(text: str, example: str) -> list[Fraction]:
    parts = [part.strip() for part in text.split(",")]
    numbers = [units.number_from(part) for part in parts]
    if any(number is None or number > MOST for number in numbers):
        cause = f"Numbers from 0 to {MOST:,}, with commas between."
        raise InputError(f"“{units.shown(text)}” cannot be read as a place.", cause, example=example)
    return [number for number in numbers if number is not None]
