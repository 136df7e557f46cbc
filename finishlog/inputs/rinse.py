"""Inputs of rinse day."""

from __future__ import annotations

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs import colors

Lab = tuple[float, float, float]


def read_spot(text: str) -> Lab:
    """The color of a spot, typed in any way a color is. Raises InputError."""
    return colors.read(text).lab


def read_share(text: str) -> float:
    """Release left as a share of the surface, from a percentage. Raises InputError."""
    percent = units.read_percent(text, positive=False)
    if percent > 100:
        raise InputError("No more than 100 % can be left.", example="25")
    return float(percent / 100)
