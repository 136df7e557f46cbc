"""Sealer by coat, and the film it leaves."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from finishlog.records.quantities.cautions import Caution


@dataclass(frozen=True, slots=True)
class SealerCoat:
    """One coat; thicknesses are an estimate for work, not an acceptance figure."""

    number: int
    coverage_ft2_per_gal: Fraction
    gallons: Fraction
    wet_mil: Fraction
    dry_mil: Fraction


@dataclass(frozen=True, slots=True)
class SealerNeed:
    """Sealer by coat; `coated_area_ft2` is the area with the relief allowance."""

    area_ft2: Fraction
    relief_percent: Fraction
    coated_area_ft2: Fraction
    solids_percent: Fraction
    coats: tuple[SealerCoat, ...]
    gallons: Fraction
    existing_mil: Fraction
    dry_mil: Fraction


@dataclass(frozen=True, slots=True)
class FilmRequest:
    """Sealer for an area. None is the shop's setting; `existing_mil` is the dry film there already."""

    area_ft2: Fraction
    coverages_ft2_per_gal: tuple[Fraction, ...] = ()
    solids_percent: Fraction | None = None
    stamped: bool = False
    relief_percent: Fraction | None = None
    existing_mil: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class FilmAnswer:
    """Sealer by coat with the film it leaves."""

    need: SealerNeed
    alarm_mil: Fraction
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
