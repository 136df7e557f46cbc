"""Powder release for an area."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class ReleasePart:
    """A shade's share of the release powder."""

    name: str
    pounds: Fraction


@dataclass(frozen=True, slots=True)
class ReleaseNeed:
    """Powder release for an area; `fresh_lb` is what to buy beyond the reclaimed powder."""

    area_ft2: Fraction
    lb_per_100ft2: Fraction
    pounds: Fraction
    reclaimed_lb: Fraction
    fresh_lb: Fraction
    parts: tuple[ReleasePart, ...]
