"""Pigment: one dose in every unit, and its weight per load."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from finishlog.records.quantities.cautions import Caution
from finishlog.records.quantities.loads import LoadPlan


@dataclass(frozen=True, slots=True)
class DoseRates:
    """One dose in every unit. Percent and per-sack figures need the mix's cement content."""

    lb_per_yd3: Fraction
    kg_per_m3: Fraction
    lb_per_sack: Fraction
    percent_of_cementitious: Fraction
    percent_of_cement: Fraction


@dataclass(frozen=True, slots=True)
class PigmentLoad:
    """A load's pigment in whole ounces: whole packs and the weighed remainder.

    `rounding_error_percent` is what the nearest number of whole packs alone would do to the dose: signed,
    against the exact dose, None without a pack size.
    """

    yards: Fraction
    pigment_lb: Fraction
    packs: int | None
    remainder_lb: Fraction | None
    rounding_error_percent: Fraction | None


@dataclass(frozen=True, slots=True)
class PigmentPlan:
    """One pigment over the loads; `total_lb` is exact, the loads sum to `weighed_lb`, its nearest ounce."""

    name: str
    lb_per_yd3: Fraction
    total_lb: Fraction
    weighed_lb: Fraction
    pack_lb: Fraction | None
    loads: tuple[PigmentLoad, ...]


@dataclass(frozen=True, slots=True)
class DoseRequest:
    """Pigment for a pour. Contents are lb/yd3; `solids_percent` is given for a liquid pigment (by weight)."""

    yards: Fraction
    dose_value: Fraction
    dose_unit: str
    cement_lb_per_yd3: Fraction | None = None
    scm_lb_per_yd3: Fraction = Fraction(0)
    pack_lb: Fraction | None = None
    truck_yd3: Fraction | None = None
    minimum_yd3: Fraction | None = None
    solids_percent: Fraction | None = None


@dataclass(frozen=True, slots=True)
class DoseAnswer:
    """Pigment by load. With `solids_percent` the plan weighs liquid, `pigment_lb` is the dry pigment."""

    rates: DoseRates
    cement_lb_per_yd3: Fraction
    scm_lb_per_yd3: Fraction
    cement_assumed: bool
    limit_percent_of_cement: Fraction
    pigment_lb: Fraction
    solids_percent: Fraction | None
    plan: PigmentPlan
    loads: LoadPlan
    truck_yd3: Fraction
    minimum_yd3: Fraction
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
