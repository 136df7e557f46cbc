"""A row of a paper log turned into what the log keeps: the job with its areas and their recipe.

A paper log tells days where the log keeps instants: a day without a time stands at noon of the
site's zone and is marked as a day. What a row does not say is unknown, never filled in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from datetime import tzinfo as Zone
from fractions import Fraction
from typing import Any, cast

from finishlog.inputs.paper_log.pour import PourRow
from finishlog.inputs.readers import LONGEST_NAME
from finishlog.records.log import AreaKind, Exactness, Exposure, Fact
from finishlog.records.writing import (
    NewArea,
    NewBuried,
    NewCustomer,
    NewJob,
    NewMaterialUse,
    NewProduct,
    NewRecipe,
    NewSite,
    NewStage,
    NewStageMaterial,
)
from finishlog.trade import dose as dosing
from finishlog.units import Dose, RoughDay, write_date

NOON = time(12)
UNKNOWN = "unknown"
ABSOLUTE = ("lb/yd3", "kg/m3")


@dataclass(frozen=True, slots=True)
class Further:
    """A product of a stage that only few slabs have. Its columns: name, `_maker`, `_lot`, `_lb` or `_gal`."""

    stage: str
    column: str
    product_kind: str
    unit: str
    later: bool = False
    """Done on a day of its own, which the column `_on` tells."""

    def cell(self, row: PourRow, part: str) -> Any:
        """What the row holds in this material's column."""
        return getattr(row, f"{self.column}_{part}")

    def used(self, row: PourRow) -> NewMaterialUse | None:
        """What a row tells of it; None where it tells nothing."""
        name, amount = getattr(row, self.column), self.cell(row, self.unit)
        maker, lot = self.cell(row, "maker"), self.cell(row, "lot")
        if all(fact is None for fact in (name, amount, maker, lot)):
            return None
        product = NewProduct(
            name or UNKNOWN, self.product_kind, maker, "liquid" if self.unit == "gal" else None
        )
        return NewMaterialUse(product, number(amount), self.unit, lot)

    def facts(self, row: PourRow) -> dict[str, Fact]:
        """Stage params beyond product and lot; only a stain has one."""
        return {"base": word(row.stain_base)} if self.stage == "stain" and row.stain_base else {}


HARDENER = Further("color_hardener", "hardener", "color hardener", "lb")
LIQUID_RELEASE = Further("liquid_release", "liquid_release", "liquid release", "gal")
ANTIQUING = Further("antiquing_wash", "antiquing", "antiquing", "gal", later=True)
STAIN = Further("stain", "stain", "stain", "gal", later=True)
FURTHER = (HARDENER, LIQUID_RELEASE, ANTIQUING, STAIN)


@dataclass(frozen=True, slots=True)
class Pigment:
    """One pigment of the base color as a row tells it; `n` is 1 or 2."""

    name: str
    maker: str | None
    lot: str | None
    dose: Dose | None
    weighed_lb: Fraction | None
    max_percent: Fraction | None

    @property
    def is_told(self) -> bool:
        """False if the row names no pigment and gives no fact of it."""
        facts = (self.maker, self.lot, self.dose, self.weighed_lb, self.max_percent)
        return self.name != UNKNOWN or any(fact is not None for fact in facts)

    def product(self) -> NewProduct:
        """As the store looks it up or adds it."""
        return NewProduct(self.name, "pigment", self.maker, max_percent_of_cement=number(self.max_percent))


def pigments(row: PourRow) -> tuple[Pigment, ...]:
    """The pigments that a row names. A dose without a name is a pigment of unknown name."""
    first = Pigment(row.base or UNKNOWN, row.base_maker, row.base_lot, row.dose, row.base_lb, row.base_max)
    second = Pigment(row.base_2 or UNKNOWN, row.base_2_maker, row.base_2_lot, row.dose_2, row.base_2_lb, None)
    return tuple(pigment for pigment in (first, second) if pigment.is_told)


def cementitious(row: PourRow) -> Fraction | None:
    """Cement and the rest of the powder, lb/yd3; unknown if the cement is."""
    return None if row.cement is None else row.cement + (row.scm or 0)


def dose_lb_per_yd3(dose: Dose, cementitious: Fraction | None) -> Fraction | None:
    """The dose in lb/yd3, exact; None where it hangs on a cement content nobody wrote down."""
    if cementitious is None:
        return dosing.lb_per_yd3(dose.value, dose.unit, Fraction(0)) if dose.unit in ABSOLUTE else None
    return dosing.lb_per_yd3(dose.value, dose.unit, cementitious)


def pigment_lb(pigment: Pigment, row: PourRow) -> Fraction | None:
    """Pounds in this load: as weighed, else the dose times the yards delivered."""
    if pigment.weighed_lb is not None:
        return pigment.weighed_lb
    if pigment.dose is None or row.yards is None:
        return None
    dose = dose_lb_per_yd3(pigment.dose, cementitious(row))
    return None if dose is None else dose * row.yards


def area_name(row: PourRow) -> str:
    """Falls back on the kind, then on "field"."""
    return row.area or row.area_kind or "field"


def job_name(row: PourRow) -> str:
    """Falls back on the day poured, exact or rough."""
    if row.job:
        return row.job
    assert row.poured_on
    rough = isinstance(row.poured_on, RoughDay)
    return f"pour of {write_date(row.poured_on) if rough else row.poured_on.isoformat()}"


def customer_name(row: PourRow) -> str:
    """A blank cell reads as `UNKNOWN`."""
    return row.customer or UNKNOWN


def street(row: PourRow) -> str:
    """The site's street. Two unknown streets are not one site: what is buried at one is not at the other."""
    return row.street or f"street {UNKNOWN} ({row.customer or row.job})"


def new_job(row: PourRow, zone: str) -> NewJob:
    """The job of a first row, with the area that the row tells of."""
    return NewJob(
        name=job_name(row),
        customer=NewCustomer(customer_name(row), row.phone, row.email),
        site=NewSite(street(row), row.town, zone, cast(Exposure, row.exposure or UNKNOWN)),
        areas=(new_area(row),),
        buried=buried(row),
    )


def buried(row: PourRow) -> tuple[NewBuried, ...]:
    """What lies under the slab; depth in inches."""
    if row.buried is None:
        return ()
    return (NewBuried(row.buried, row.buried_where, number(row.buried_depth)),)


def new_area(row: PourRow) -> NewArea:
    """The slab this row tells of, with its recipe."""
    return NewArea(
        name=area_name(row),
        kind=cast(AreaKind, row.area_kind or "field"),
        exposure=cast(Exposure, row.exposure or UNKNOWN),
        area_ft2=number(row.area_ft2),
        depth_in=number(row.depth),
        edge_yd3=number(row.edge_yd3),
        recipe=_recipe(row),
    )


def _recipe(row: PourRow) -> NewRecipe | None:
    stages = tuple(_stages(row))
    shades = [shade for shade in (row.base, row.base_2, row.release) if shade]
    name = (" + ".join(shades) or row.pattern or "finish")[:LONGEST_NAME].strip()
    return NewRecipe(name, stages) if stages else None


def _stages(row: PourRow) -> Iterator[NewStage]:
    if base := pigments(row):
        yield NewStage("integral_color", {}, tuple(_planned(pigment) for pigment in base))
    yield from _further(row, HARDENER)
    if released(row):
        yield NewStage("powder_release", {}, (NewStageMaterial(release(row), row.release_lot),))
    yield from _further(row, LIQUID_RELEASE)
    if row.pattern:
        yield NewStage("stamp", {"pattern": row.pattern})
    for kind, method in (("cure", row.cure), ("joint", row.joints)):
        if method:
            yield NewStage(kind, {"method": word(method)})
    if rinsed(row):
        yield NewStage("rinse")
    yield from _further(row, ANTIQUING)
    yield from _further(row, STAIN)
    if has_sealer(row) or row.sealed_on or row.coats:
        product = (NewStageMaterial(sealer(row), row.sealer_lot),) if has_sealer(row) else ()
        yield NewStage("seal", {"coats": row.coats} if row.coats else {}, product)


def _further(row: PourRow, stage: Further) -> Iterator[NewStage]:
    if use := stage.used(row):
        yield NewStage(stage.stage, stage.facts(row), (NewStageMaterial(use.product, use.lot),))


def _planned(pigment: Pigment) -> NewStageMaterial:
    rate = pigment.dose
    return NewStageMaterial(
        pigment.product(), pigment.lot, number(rate.value) if rate else None, rate.unit if rate else None
    )


def release(row: PourRow) -> NewProduct:
    """The powder release the row names."""
    return NewProduct(row.release or UNKNOWN, "powder release", row.release_maker)


def sealer(row: PourRow) -> NewProduct:
    """A liquid; chemistry may stay unknown."""
    return NewProduct(
        row.sealer or UNKNOWN, "sealer", row.sealer_maker, form="liquid", chemistry=row.sealer_chemistry
    )


def has_sealer(row: PourRow) -> bool:
    """True if any cell tells of a sealer."""
    return any(
        fact is not None for fact in (row.sealer, row.sealer_maker, row.sealer_chemistry, row.sealer_lot)
    )


def released(row: PourRow) -> bool:
    """True if any cell tells of a powder release."""
    return any(fact is not None for fact in (row.release, row.release_maker, row.release_lot, row.release_lb))


def rinsed(row: PourRow) -> bool:
    """True if any cell tells of the rinse."""
    return any(fact is not None for fact in (row.rinsed_on, row.rinse_age, row.rinse_psi, row.release_left))


class Moments:
    """When things happened, for a row and its site's zone."""

    def __init__(self, row: PourRow, zone: Zone) -> None:
        assert row.poured_on
        self.zone = zone
        self.poured = self.at(row.poured_on, row.poured_end)
        self.on_the_day = self.known(row.poured_on)
        exact = bool(row.poured_end) and self.on_the_day == "day"
        self.exactness: Exactness = "exact" if exact else self.on_the_day

    @staticmethod
    def known(day: date) -> Exactness:
        """How well a day is known that has no hour."""
        return day.exactness if isinstance(day, RoughDay) else "day"

    def of(self, day: date) -> tuple[datetime, Exactness]:
        """A day without an hour, and how well it is known."""
        return self.at(day), self.known(day)

    def at(self, day: date, clock: time | None = None) -> datetime:
        """In UTC; noon at the job if the row gives no hour."""
        return datetime.combine(day, clock or NOON, self.zone).astimezone(UTC)


def number(value: Fraction | None) -> float | None:
    """As the log keeps it."""
    return None if value is None else float(value)


def word(text: str) -> str:
    """A choice as the kinds of stage spell it: `cure and seal` is cure_and_seal."""
    return text.replace(" ", "_")
