"""Shared by stages that apply liquid color in coats: wash and stain."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade.stages.base import Need, Param, Params, number

F = Fraction


def by_coverage(what: str) -> Callable[[Params, Fraction, Fraction, Shop], tuple[Need, ...]]:
    """Gallons as applied, if its coverage is given (from the sample or the product's sheet)."""

    def needs(params: Params, area_ft2: Fraction, volume_yd3: Fraction, shop: Shop) -> tuple[Need, ...]:
        rate = number(params, "coverage_ft2_per_gal", F(0))
        if area_ft2 <= 0 or not rate:
            return ()
        return (Need(what, area_ft2 / rate * number(params, "coats", F(1)), "gal", "by the area"),)

    return needs


def how_much(most_ft2_per_gal: int) -> tuple[Param, Param]:
    """Number of coats and coverage of each."""
    return (
        Param("coats", "Coats", kind="count", low=F(1), high=F(10), observed=True),
        Param(
            "coverage_ft2_per_gal", "Coverage", "coverage", low=F(50), high=F(most_ft2_per_gal), observed=True
        ),
    )
