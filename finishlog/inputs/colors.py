"""A color read by hand, with its uncertainty: a colorimeter's L*a*b*, a Munsell chip, a screen color."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.units import exact, plain, write_number

EXAMPLE = "62,4,16 or 10YR 6/3 or #a9927a"
INSTRUMENTS = ("colorimeter", "chip by eye", "screen color", "by hand")
UNCERTAINTY: dict[str, tuple[float, float, float]] = {
    "colorimeter": (0.5, 0.5, 0.5),
    "chip by eye": (2.5, 2.5, 2.5),
    "screen color": (5.0, 5.0, 5.0),
}
"""Default standard deviation of L*, a*, b*; common practice, no source.

A colorimeter is taken as good for half a unit. A chip matched by eye is right to half a chip, taken as two
standard deviations: chips stand a value step (10 L*) and two chroma steps (about 10 units) apart, so half
a chip is 5. A screen color was never measured: a guess. "By hand" claims nothing.
"""
LARGEST_SD = 50
Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Color:
    """L*a*b* (D65, 2°) and its instrument, as far as the notation shows."""

    lab: Lab
    instrument: str


def read(text: str) -> Color:
    """`62,4,16` or `62 4 16`, `10YR 6/3`, `#a9927a`. Raises InputError."""
    from finishlog.color.notation.names import need_color

    tidy = text.strip().replace("\u2212", "-")
    parts = tidy.replace(";", ",").replace(",", " ").split()
    if len(parts) == 3 and all(part[:1] in "+-.0123456789" for part in parts) and "/" not in tidy:
        return Color(need_color(",".join(parts)), "by hand")
    L, a, b = (round(value, 4) for value in need_color(tidy))
    return Color((L, a, b), "screen color" if tidy.startswith("#") else "chip by eye")


def write(color: Color) -> str:
    """`L*a*b* 62 4 16, nearest light brown`."""
    from finishlog.color.notation.names import nearest_name

    numbers = " ".join(write_number(value, 1) for value in color.lab)
    return f"L*a*b* {numbers}, nearest {nearest_name(color.lab)}"


def as_text(color: Color) -> str:
    """The text that reads as this color, to four digits."""
    return ",".join(plain(exact(value), 4) for value in color.lab)


def read_sd(text: str) -> Lab:
    """One number for all three, or three."""
    parts = [part.strip() for part in text.replace(";", ",").split(",")]
    numbers = [units.number_from(part) for part in parts]
    if len(parts) not in (1, 3) or any(n is None or n > LARGEST_SD for n in numbers):
        cause = f"One number or three, 0 to {LARGEST_SD}."
        raise InputError(f"“{units.shown(text)}” is no uncertainty.", cause, example="0.5 or 0.5, 0.3, 0.4")
    L, a, b = (float(n) for n in (numbers * 3)[:3] if n is not None)
    return L, a, b


def sd_text(sd: Any) -> str:
    """The uncertainty as it may be typed again."""
    return ", ".join(plain(exact(value), 17) for value in sd)
