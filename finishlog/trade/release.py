"""Release: powder in pounds by area and shade, liquid in gallons (rates: common practice, from memory)."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from finishlog import units
from finishlog.errors import InputError
from finishlog.records.quantities.release import ReleaseNeed, ReleasePart


def powder_release(
    area_ft2: Fraction,
    lb_per_100ft2: Fraction,
    shades: Sequence[tuple[str, Fraction]] = (),
    reclaimed_lb: Fraction = Fraction(0),
) -> ReleaseNeed:
    """Pounds of powder for an area, split over `shades` (name, parts), less reclaimed powder."""
    if area_ft2 <= 0 or lb_per_100ft2 <= 0:
        raise InputError("Area and spread must be more than zero.", example="445 ft2 at 3.5 lb/100 ft2")
    pounds = area_ft2 * lb_per_100ft2 / 100
    total = sum((parts for _, parts in shades), Fraction(0))
    if shades and (total <= 0 or any(parts < 0 for _, parts in shades)):
        raise InputError("The parts of the shades must be more than zero.", example="2:1")
    split = tuple(ReleasePart(name, pounds * parts / total) for name, parts in shades)
    used = min(reclaimed_lb, pounds)
    return ReleaseNeed(area_ft2, lb_per_100ft2, pounds, used, pounds - used, split)


def shares(ratio: str) -> tuple[Fraction, Fraction]:
    """Shares of the first and second shade in a mix by parts: `2:1` is 2/3 and 1/3.

    Shades follow the order of the stage's materials. Raises InputError.
    """
    parts = units.read_ratio(ratio)
    return parts / (1 + parts), 1 / (1 + parts)


def check_shades(ratio: str | None, shades: int) -> None:
    """Two shades need a ratio, and a ratio two shades. Raises InputError."""
    if ratio is not None and shades != 2:
        cause = f"There {'is' if shades == 1 else 'are'} {shades} of them."
        raise InputError(
            "A ratio needs two shades.", cause, where="mix_ratio", example="2:1 with two shades named"
        )
    if shades == 2 and ratio is None:
        raise InputError("Two shades need their ratio by parts.", where="mix_ratio", example="2:1")


def odd_shades(ratio: str | None, shades: int) -> str:
    """The complaint of `check_shades` as a warning about powder already thrown; "" if none."""
    try:
        check_shades(ratio, shades)
    except InputError as wrong:
        return " ".join(part for part in (wrong.title, wrong.cause) if part)
    return ""


def liquid_release_gal(area_ft2: Fraction, coverage_ft2_per_gal: Fraction) -> Fraction:
    """Gallons of liquid release for an area in ft2 at a coverage in ft2/gal (both more than zero)."""
    if area_ft2 <= 0 or coverage_ft2_per_gal <= 0:
        raise InputError("Area and coverage must be more than zero.", example="445 ft2 at 200 ft2/gal")
    return area_ft2 / coverage_ft2_per_gal
