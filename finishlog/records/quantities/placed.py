"""What the loads brought, as logged, and the dose that it comes to."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class PlacedLoad:
    """What one truck brought, as logged: None is unknown."""

    label: str
    yards: Fraction | None
    pigment_lb: Fraction | None
    placed_yd3: Fraction | None = None
    """What of it stayed in the slab: it weighs the load's dose in the mean; unknown, the yards do."""


@dataclass(frozen=True, slots=True)
class OffLoad:
    """A load whose dose differs from the pour's; `percent` is signed, - is light."""

    label: str
    lb_per_yd3: Fraction
    percent: Fraction


@dataclass(frozen=True, slots=True)
class PlacedDose:
    """The dose as placed over the loads with known yards and pigment: mean weighted by yards, loads off it."""

    lb_per_yd3: Fraction
    off: tuple[OffLoad, ...]
