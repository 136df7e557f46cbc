"""A row of a paper log turned into what the log keeps: the job with its recipe, and the entries.

A paper log tells days where the log keeps instants: a day without a time stands at noon of the
site's zone and is marked as a day. What a row does not say is unknown, never filled in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from datetime import tzinfo as Zone
from fractions import Fraction
from typing import cast

from finishlog.inputs.pour import PourRow
from finishlog.records.log import AreaKind, Coat, Exactness, Exposure, Fact, Reading
from finishlog.records.writing import (
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSite,
    NewStage,
    NewStageMaterial,
)
from finishlog.trade import dose as dosing
from finishlog.units import Dose, plain

NOON = time(12)
UNKNOWN = "unknown"
ABSOLUTE = ("lb/yd3", "kg/m3")


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
        facts = (self.maker, self.lot, self.dose, self.weighed_lb, self.max_percent)
        return self.name != UNKNOWN or any(fact is not None for fact in facts)

    def product(self) -> NewProduct:
        return NewProduct(self.name, "pigment", self.maker, max_percent_of_cement=_number(self.max_percent))


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
    return row.area or row.area_kind or "field"


def job_name(row: PourRow) -> str:
    assert row.poured_on
    return row.job or f"pour of {row.poured_on.isoformat()}"


def customer_name(row: PourRow) -> str:
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
    if row.buried is None:
        return ()
    return (NewBuried(row.buried, row.buried_where, _number(row.buried_depth)),)


def new_area(row: PourRow) -> NewArea:
    return NewArea(
        name=area_name(row),
        kind=cast(AreaKind, row.area_kind or "field"),
        exposure=cast(Exposure, row.exposure or UNKNOWN),
        area_ft2=_number(row.area_ft2),
        depth_in=_number(row.depth),
        edge_yd3=_number(row.edge_yd3),
        recipe=_recipe(row),
    )


def _recipe(row: PourRow) -> NewRecipe | None:
    stages = tuple(_stages(row))
    shades = [shade for shade in (row.base, row.base_2, row.release) if shade]
    return NewRecipe(" + ".join(shades) or row.pattern or "finish", stages) if stages else None


def _stages(row: PourRow) -> Iterator[NewStage]:
    if base := pigments(row):
        yield NewStage("integral_color", {}, tuple(_planned(pigment) for pigment in base))
    if _released(row):
        yield NewStage("powder_release", {}, (NewStageMaterial(_release(row), row.release_lot),))
    if row.pattern:
        yield NewStage("stamp", {"pattern": row.pattern})
    if _rinsed(row):
        yield NewStage("rinse")
    if _has_sealer(row) or row.sealed_on or row.coats:
        sealer = (NewStageMaterial(_sealer(row)),) if _has_sealer(row) else ()
        yield NewStage("seal", {"coats": row.coats} if row.coats else {}, sealer)


def _planned(pigment: Pigment) -> NewStageMaterial:
    rate = pigment.dose
    return NewStageMaterial(
        pigment.product(), pigment.lot, _number(rate.value) if rate else None, rate.unit if rate else None
    )


def _release(row: PourRow) -> NewProduct:
    return NewProduct(row.release or UNKNOWN, "powder release", row.release_maker)


def _sealer(row: PourRow) -> NewProduct:
    return NewProduct(
        row.sealer or UNKNOWN, "sealer", row.sealer_maker, form="liquid", chemistry=row.sealer_chemistry
    )


def _has_sealer(row: PourRow) -> bool:
    return any(fact is not None for fact in (row.sealer, row.sealer_maker, row.sealer_chemistry))


def _released(row: PourRow) -> bool:
    return any(fact is not None for fact in (row.release, row.release_maker, row.release_lot, row.release_lb))


def _rinsed(row: PourRow) -> bool:
    return any(fact is not None for fact in (row.rinsed_on, row.rinse_age, row.rinse_psi, row.release_left))


class Moments:
    """When things happened, for a row and its site's zone."""

    def __init__(self, row: PourRow, zone: Zone) -> None:
        assert row.poured_on
        self.zone = zone
        self.poured = self.at(row.poured_on, row.poured_end)
        self.exactness: Exactness = "exact" if row.poured_end else "day"

    def at(self, day: date, clock: time | None = None) -> datetime:
        return datetime.combine(day, clock or NOON, self.zone).astimezone(UTC)


def entries(row: PourRow, zone: Zone, *, further_load: bool = False) -> tuple[NewEntry, ...]:
    """All that happened, in order. A further load of a pour already told of is only its load."""
    when = Moments(row, zone)
    if further_load:
        return tuple(_loads(row, when))
    first = NewEntry("pour", when.poured, when.exactness, area_name(row), row.crew, row.note)
    rest = (*_loads(row, when), *_finish(row, when), *_coats(row, when), *_readings(row, when))
    return (first, *rest)


def _loads(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    facts = (row.yards, row.returned, row.dumped, row.ticket, row.slump, _mix(row))
    uses = tuple(_use(pigment, row) for pigment in pigments(row))
    if uses or any(fact is not None for fact in facts):
        yield NewEntry(
            "load", when.poured, when.exactness, area_name(row), row.crew, _unweighed(row),
            materials=uses, load=_load(row),
        )  # fmt: skip
    if row.balance_yards is not None:
        balance = NewLoad(
            _number(row.balance_yards),
            _number(row.returned),
            _number(row.dumped),
            mix=_mix(row),
            is_balance=True,
        )
        yield NewEntry("load", when.poured, when.exactness, area_name(row), row.crew, load=balance)


def _load(row: PourRow) -> NewLoad:
    """The truck's load; where a balance load followed, it was placed whole, the leftover is the other's."""
    short = row.balance_yards is not None
    return NewLoad(
        yards=_number(row.yards),
        returned_yd3=0.0 if short else _number(row.returned),
        dumped_yd3=0.0 if short else _number(row.dumped),
        ticket=row.ticket,
        mix=_mix(row),
        slump_in=_number(row.slump),
    )


def _mix(row: PourRow) -> NewMix | None:
    facts = (row.plant, row.mix, row.cement_kind, row.cement, row.scm_kind, row.scm)
    if all(fact is None for fact in facts):
        return None
    return NewMix(
        plant=row.plant,
        number=row.mix,
        cement_kind=row.cement_kind,
        cement_lb_per_yd3=_number(row.cement),
        scm_kind=row.scm_kind,
        scm_lb_per_yd3=_number(row.scm),
    )


def _use(pigment: Pigment, row: PourRow) -> NewMaterialUse:
    return NewMaterialUse(pigment.product(), _number(pigment_lb(pigment, row)), "lb", pigment.lot)


def _unweighed(row: PourRow) -> str | None:
    """The doses that could not be turned into pounds, so that they are not lost with the row."""
    lost = [p for p in pigments(row) if p.dose and pigment_lb(p, row) is None]
    if not lost:
        return None
    return "dose as written: " + ", ".join(
        f"{p.name} {plain(p.dose.value)} {p.dose.unit}" for p in lost if p.dose
    )


def _finish(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    area = area_name(row)
    if _released(row):
        use = NewMaterialUse(_release(row), _number(row.release_lb), "lb", row.release_lot)
        yield NewEntry("powder_release", when.poured, "day", area, materials=(use,))
    if row.pattern:
        yield NewEntry("stamp", when.poured, "day", area, facts={"pattern": row.pattern})
    if _rinsed(row):
        yield _rinse(row, when, area)


def _rinse(row: PourRow, when: Moments, area: str) -> NewEntry:
    facts: dict[str, Fact] = {}
    if row.rinse_psi is not None:
        facts["pressure_psi"] = float(row.rinse_psi)
    if row.release_left is not None:
        facts["release_left_percent"] = float(row.release_left)
    if row.rinse_age is not None:
        facts["age_h"] = float(row.rinse_age)  # the paper's own figure: the hour of the pour may be unknown
    happened, exactness = _rinse_time(row, when)
    return NewEntry("rinse", happened, exactness, area, facts=facts)


def _rinse_time(row: PourRow, when: Moments) -> tuple[datetime, Exactness]:
    if row.rinsed_on is not None:
        return when.at(row.rinsed_on, row.rinsed_at), "exact" if row.rinsed_at else "day"
    assert row.rinse_age is not None
    return when.poured + timedelta(hours=float(row.rinse_age)), "about"


def _coats(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    use = (NewMaterialUse(_sealer(row), unit="gal"),) if _has_sealer(row) else ()
    if row.sealed_on is not None:
        for number in range(1, (row.coats or 1) + 1):
            coat = Coat(number if row.coats else None)
            yield NewEntry("seal", when.at(row.sealed_on), "day", area_name(row), materials=use, coat=coat)
    if row.resealed_on is not None:
        yield NewEntry("seal", when.at(row.resealed_on), "day", area_name(row), coat=Coat(reseal=True))


def _readings(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    day = color_day(row)
    for spot, lab in (("base", row.base_color), ("release color", row.release_color)):
        if lab is not None and day is not None:
            state = row.color_state
            reading = Reading(*lab, spot=spot, damp=state == "damp", sealed=state == "sealed")
            yield NewEntry("reading", when.at(day), "day", area_name(row), reading=reading)


def color_day(row: PourRow) -> date | None:
    if row.color_on is not None or row.color_age is None or row.poured_on is None:
        return row.color_on
    return row.poured_on + timedelta(days=row.color_age)


def _number(value: Fraction | None) -> float | None:
    return None if value is None else float(value)
