"""What the loads brought, as logged, and the resulting dose."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class PlacedLoad:
    """One truck's delivery, as logged; None means unknown."""

    label: str
    yards: Fraction | None
    pigment_lb: Fraction | None
    placed_yd3: Fraction | None = None
    """What stayed in the slab: the load's weight in the mean dose; if unknown, `yards` is."""


@dataclass(frozen=True, slots=True)
class OffLoad:
    """A load whose dose differs from the pour's; `percent` is signed, negative is light."""

    label: str
    lb_per_yd3: Fraction
    percent: Fraction


@dataclass(frozen=True, slots=True)
class PlacedDose:
    """The dose as placed over the loads with known yards and pigment: mean weighted by yards, loads off it."""

    lb_per_yd3: Fraction
    off: tuple[OffLoad, ...]
