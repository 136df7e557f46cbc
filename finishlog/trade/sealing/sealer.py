"""Sealer: gallons by coat and the film they leave.

231 in3/gal ÷ 144 in2/ft2 × 1000 = 1604.1667 mil·ft2/gal, exact. Coverage = 1604 × volume solids / dry mil:
R. Joseph, Paints & Coatings Resource Center, Dec 2007. A wet film is an
estimate during work, not acceptance (MIL-HDBK-1110 §9.6.8).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from finishlog.errors import InputError
from finishlog.records.quantities.film import SealerCoat, SealerNeed

MIL_FT2_PER_GAL = Fraction(231 * 1000, 144)


def wet_mil(coverage_ft2_per_gal: Fraction) -> Fraction:
    """Wet film in mil of a coat at a coverage in ft2/gal (more than zero)."""
    return MIL_FT2_PER_GAL / coverage_ft2_per_gal


def dry_mil(coverage_ft2_per_gal: Fraction, solids_percent: Fraction) -> Fraction:
    """Dry film in mil of a coat at a coverage in ft2/gal, with solids in percent by volume."""
    return wet_mil(coverage_ft2_per_gal) * solids_percent / 100


def coverage_for_wet(wet_film_mil: Fraction) -> Fraction:
    """Coverage in ft2/gal that leaves a wet film of so many mil (more than zero)."""
    return MIL_FT2_PER_GAL / wet_film_mil


def coverage_for_dry(dry_film_mil: Fraction, solids_percent: Fraction) -> Fraction:
    """Coverage in ft2/gal that leaves a dry film of so many mil, with solids in percent by volume."""
    return MIL_FT2_PER_GAL * solids_percent / 100 / dry_film_mil


def coated_ft2(area_ft2: Fraction, relief_percent: Fraction) -> Fraction:
    """Surface to coat: a stamped area has more than its plan area (allowance: common practice)."""
    return area_ft2 * (1 + relief_percent / 100)


def sealer_need(
    area_ft2: Fraction,
    coverages_ft2_per_gal: Sequence[Fraction],
    solids_percent: Fraction,
    relief_percent: Fraction = Fraction(0),
    existing_mil: Fraction = Fraction(0),
) -> SealerNeed:
    """Gallons and films of the coats on a plan area in ft2; `existing_mil` is the dry film already there."""
    if area_ft2 <= 0 or not 0 < solids_percent <= 100 or any(rate <= 0 for rate in coverages_ft2_per_gal):
        raise InputError(
            "Area, coverage and solids must be more than zero.", example="445 ft2 at 225 ft2/gal, 25 %"
        )
    coated = coated_ft2(area_ft2, relief_percent)
    coats = tuple(
        SealerCoat(number, rate, coated / rate, wet_mil(rate), dry_mil(rate, solids_percent))
        for number, rate in enumerate(coverages_ft2_per_gal, 1)
    )
    gallons = sum((coat.gallons for coat in coats), Fraction(0))
    film = sum((coat.dry_mil for coat in coats), existing_mil)
    return SealerNeed(area_ft2, relief_percent, coated, solids_percent, coats, gallons, existing_mil, film)
