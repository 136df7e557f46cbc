"""Boxes and card corners on a photo, in shares of its width and height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from finishlog.tui.photo import picture
from finishlog.tui.photo.picture import Mark

GRAY = "gray card"
LETTERS = "abcdef"
NAMES = ("base", "release color", "field", "rinsed", "unrinsed")
CARD = ((0.4, 0.4), (0.6, 0.4), (0.6, 0.6), (0.4, 0.6))
"""Initial corners, clockwise from the upper left."""
LEAST = 0.01
SIDES = ("upper left", "upper right", "lower right", "lower left")
"""Names of a card's corners, in order."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A box; not `there` if the picture does not show its subject."""

    shows: str
    x: float
    y: float
    width: float
    height: float
    there: bool

    @property
    def place(self) -> str:
        """Left, top, width, height, as `inputs.boxes` reads them."""
        return ",".join(f"{n:.5f}" for n in (self.x, self.y, self.width, self.height))

    @property
    def text(self) -> str:
        """As `inputs.boxes` reads it."""
        return f"{self.shows}={self.place}"

    def pixels(self, width: int, height: int) -> str:
        """Left, top, width, height in whole pixels of a photo of that size, as they are typed."""
        numbers = self.x * width, self.y * height, self.width * width, self.height * height
        return ",".join(str(round(n)) for n in numbers)

    def moved(self, dx: float, dy: float) -> Spot:
        """Shifted by shares of the picture, kept inside it."""
        return replace(self, x=_within(self.x + dx, 1 - self.width), y=_within(self.y + dy, 1 - self.height))

    def sized(self, dx: float, dy: float) -> Spot:
        """Grown by shares of the picture; at least LEAST, kept inside it."""
        width = min(max(self.width + dx, LEAST), 1 - self.x)
        return replace(self, width=width, height=min(max(self.height + dy, LEAST), 1 - self.y))


Corners = tuple[tuple[float, float], ...]
A_GRAY_CARD = Spot(GRAY, 0.6, 0.4, 0.14, 0.18, True)
"""Initial box of a gray card."""


def _within(value: float, most: float) -> float:
    return min(max(value, 0.0), most)


def spots(there: Sequence[str]) -> tuple[Spot, ...]:
    """One box per subject, not overlapping."""
    at = ((0.08, 0.08), (0.32, 0.08), (0.08, 0.40), (0.08, 0.72), (0.40, 0.72))
    return tuple(Spot(name, x, y, 0.18, 0.18, name in there) for name, (x, y) in zip(NAMES, at, strict=True))


def corner_moved(corners: Corners, at: int, dx: float, dy: float) -> Corners:
    """Corner `at` shifted by shares of the picture, kept inside it."""
    x, y = corners[at]
    return corner_put(corners, at, x + dx, y + dy)


def corner_put(corners: Corners, at: int, x: float, y: float) -> Corners:
    """Corner `at` set to shares of the picture, kept inside it."""
    return (*corners[:at], (_within(x, 1.0), _within(y, 1.0)), *corners[at + 1 :])


def written(corners: Corners) -> str:
    """As `inputs.boxes` reads them: shares of the picture."""
    return " ".join(f"{x:.5f},{y:.5f}" for x, y in corners)


def from_top_left(found: Sequence[tuple[float, float]], width: int, height: int) -> Corners:
    """A found card's corners as shares, clockwise from the upper left."""
    shares = [(x / width, y / height) for x, y in found]
    middle = sum(x for x, _ in shares) / 4, sum(y for _, y in shares) / 4
    from math import atan2

    turned = sorted(shares, key=lambda at: atan2(at[1] - middle[1], at[0] - middle[0]))
    return tuple(turned)


def typed(spot: Spot, text: str, width: int, height: int) -> Spot:
    """The box moved to typed numbers, in pixels or shares. Raises InputError."""
    from finishlog.inputs import boxes

    gray = spot.shows == GRAY
    box = boxes.read_gray(text) if gray else boxes.read_box(f"{spot.shows}={text}").place
    numbers = (box.x, box.y, box.width, box.height)
    across, down = (width, height) if max(numbers) > 1 else (1, 1)
    x, y, wide, high = (float(n / Fraction(by)) for n, by in zip(numbers, (across, down) * 2, strict=True))
    return Spot(
        spot.shows, _within(x, 1 - LEAST), _within(y, 1 - LEAST), min(wide, 1 - x), min(high, 1 - y), True
    )


def typed_corner(text: str, width: int, height: int) -> tuple[float, float]:
    """A corner from typed x,y, in pixels or shares. Raises InputError."""
    from finishlog.inputs import boxes

    (x, y), *_ = boxes.read_corners(" ".join([text] * 4))
    across, down = (width, height) if max(x, y) > 1 else (1, 1)
    return float(x / across), float(y / down)


def marks(
    boxes: Sequence[Spot], corners: Corners | None, chosen: int, cells: int, rows: int
) -> dict[tuple[int, int], Mark]:
    """Signs of boxes and corners by cell; the chosen one is on top, in double lines."""
    found: dict[tuple[int, int], Mark] = {}
    order = sorted(range(len(boxes)), key=lambda at: at == chosen)
    for at in order:
        if boxes[at].there:
            found |= _box(boxes[at], LETTERS[at], at == chosen, cells, rows)
    order = sorted(range(len(corners or ())), key=lambda at: len(boxes) + at == chosen)
    for at in order:
        x, y = (corners or ())[at]
        here = min(int(x * cells), cells - 1), min(int(y * rows), rows - 1)
        found |= _bracket(here, at, len(boxes) + at == chosen, cells, rows)
    return found


_INWARD = ((1, 1), (-1, 1), (-1, -1), (1, -1))
"""Direction from each corner into the card, across and down."""


def _bracket(
    here: tuple[int, int], at: int, chosen: bool, cells: int, rows: int
) -> dict[tuple[int, int], Mark]:
    """A card corner and its two arms; the chosen one in double lines."""
    signs = picture.DOUBLE if chosen else picture.SINGLE
    corner = signs[(0, 1, 3, 2)[at]]
    across, down = _INWARD[at]
    x, y = here
    found = {(x, y): Mark(corner, chosen)}
    if 0 <= x + across < cells:
        found[x + across, y] = Mark(signs[4], chosen)
    if 0 <= y + down < rows:
        found[x, y + down] = Mark(signs[5], chosen)
    return found


def drawn_at(spot: Spot, cells: int, rows: int) -> tuple[int, int, int, int]:
    """Left, top, right and bottom cell of a box, ends included; at least two cells each way."""
    left, top = min(int(spot.x * cells), cells - 2), min(int(spot.y * rows), rows - 2)
    right = min(max(round((spot.x + spot.width) * cells) - 1, left + 1), cells - 1)
    bottom = min(max(round((spot.y + spot.height) * rows) - 1, top + 1), rows - 1)
    return left, top, right, bottom


def _box(spot: Spot, letter: str, chosen: bool, cells: int, rows: int) -> dict[tuple[int, int], Mark]:
    return picture.frame(*drawn_at(spot, cells, rows), f"{letter} {spot.shows}", chosen)
