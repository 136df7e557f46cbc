"""The trucks of a paper log: one row is one truck, or one area of a truck that fed several."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from finishlog.desk.paper_log.pour_rows import Moments, Pigment, area_name, number, pigment_lb, pigments, word
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.records.log import Approval, Fact
from finishlog.records.writing import NewEntry, NewLoad, NewMaterialUse, NewMix, NewSample
from finishlog.units import plain

LOAD_BEFORE = 0
"""In a sample: it was taken from the load that stands just before it. Entries count from 1."""

ADMIXTURES = ("accelerator", "retarder", "plasticizer", "air", "wind", "light")
"""Columns of what went into one load beside the plant's mix, and of the weather at it."""

OF_THE_TRUCK = (
    *(
        "returned",
        "dumped",
        "balance_yards",
        "truck_yards",
        "balance",
        "plant",
        "mix",
        "cement_kind",
        "cement",
    ),
    *("scm_kind", "scm", "sand", "admixtures", "water_gal", "water_when", "slump", "slump_end"),
    *("base", "base_maker", "base_lot", "dose", "base_lb", "base_max"),
    *("base_2", "base_2_maker", "base_2_lot", "dose_2", "base_2_lb"),
    *ADMIXTURES,
    *("sample", "sample_size", "sample_kept", "sample_sealed", "sample_signed_by", "sample_signed_on"),
)
"""Columns that tell of the truck, whichever of its areas the row is of."""


@dataclass(frozen=True, slots=True)
class Truck:
    """One truck: `row` has its facts, with the yards it brought; `areas` what went where, if to several."""

    row: PourRow
    areas: tuple[tuple[str, Fraction | None], ...] = ()

    @property
    def area(self) -> str | None:
        """The area of its entries; None where it fed several."""
        return None if self.areas else area_name(self.row)


def truck(rows: Sequence[PourRow]) -> Truck:
    """The truck that rows of different areas tell of together, or one row alone."""
    first = rows[0]
    if len(rows) == 1 and first.truck_yards is None:
        return Truck(first)
    told = {column: _first(rows, column) for column in OF_THE_TRUCK}
    areas = tuple((area_name(row), row.yards) for row in rows)
    row = first.model_copy(update={**told, "yards": _brought(rows, told["truck_yards"])})
    return Truck(row, areas)


def _first(rows: Sequence[PourRow], column: str) -> object:
    return next((value for row in rows if (value := getattr(row, column)) is not None), None)


def _brought(rows: Sequence[PourRow], whole: object) -> Fraction | None:
    """What the truck brought: as told, else all that its areas took; unknown where one of them is."""
    if isinstance(whole, Fraction):
        return whole
    known = [row.yards for row in rows if row.yards is not None]
    return sum(known, Fraction(0)) if len(known) == len(rows) else None


def entries(truck: Truck, when: Moments) -> Iterator[NewEntry]:
    """The truck's load, the sample kept of it, and the balance load that followed."""
    row = truck.row
    load = _told_load(truck, when)
    if load:
        yield load
    yield from _samples(row, when, truck.area, has_load=load is not None)
    if row.balance_yards is not None:
        balance = NewLoad(
            number(row.balance_yards),
            number(row.returned),
            number(row.dumped),
            mix=_mix(row),
            is_balance=True,
        )
        yield NewEntry("load", when.poured, when.exactness, truck.area, row.crew, load=balance)


def _told_load(truck: Truck, when: Moments) -> NewEntry | None:
    row = truck.row
    facts = (
        *(row.yards, row.returned, row.dumped, row.ticket, row.slump, row.slump_end, row.water_gal),
        *(row.water_when, row.balance, _mix(row), _load_facts(row) or None),
    )
    uses = tuple(_use(pigment, row) for pigment in pigments(row))
    if row.bags is not None and all(fact is None for fact in facts):
        return None
    if not uses and not truck.areas and all(fact is None for fact in facts):
        return None
    return NewEntry(
        "load", when.poured, when.exactness, truck.area, row.crew, _unweighed(row),
        facts=_load_facts(row), materials=uses, load=_load(truck),
    )  # fmt: skip


def _load(truck: Truck) -> NewLoad:
    """The truck's load; where a balance load followed, it was placed whole, the leftover is the other's."""
    row = truck.row
    short = row.balance_yards is not None
    return NewLoad(
        yards=number(row.yards),
        returned_yd3=0.0 if short else number(row.returned),
        dumped_yd3=0.0 if short else number(row.dumped),
        ticket=row.ticket,
        mix=_mix(row),
        water_gal=number(row.water_gal),
        water_when=row.water_when,
        slump_in=number(row.slump),
        slump_end_in=number(row.slump_end),
        is_balance=bool(row.balance),
        areas=tuple((name, number(yards)) for name, yards in truck.areas),
    )


def _load_facts(row: PourRow) -> dict[str, Fact]:
    facts: dict[str, Fact | None] = {
        "accelerator": word(row.accelerator) if row.accelerator else None,
        "retarder": row.retarder,
        "plasticizer": row.plasticizer,
        "air_percent": number(row.air),
        "load_wind_mph": number(row.wind),
        "light": word(row.light) if row.light else None,
    }
    return {key: fact for key, fact in facts.items() if fact is not None}


def _mix(row: PourRow) -> NewMix | None:
    facts = (row.plant, row.mix, row.cement_kind, row.cement, row.scm_kind, row.scm, row.sand, row.admixtures)
    if all(fact is None for fact in facts):
        return None
    return NewMix(
        plant=row.plant,
        number=row.mix,
        cement_kind=row.cement_kind,
        cement_lb_per_yd3=number(row.cement),
        scm_kind=row.scm_kind,
        scm_lb_per_yd3=number(row.scm),
        sand=row.sand,
        admixtures=row.admixtures,
    )


def _use(pigment: Pigment, row: PourRow) -> NewMaterialUse:
    return NewMaterialUse(pigment.product(), number(pigment_lb(pigment, row)), "lb", pigment.lot)


def _unweighed(row: PourRow) -> str | None:
    """The doses that could not be turned into pounds, so that they are not lost with the row."""
    lost = [p for p in pigments(row) if p.dose and pigment_lb(p, row) is None]
    if not lost:
        return None
    return "dose as written: " + ", ".join(
        f"{p.name} {plain(p.dose.value)} {p.dose.unit}" for p in lost if p.dose
    )


def _samples(row: PourRow, when: Moments, area: str | None, *, has_load: bool) -> Iterator[NewEntry]:
    facts = (row.sample, row.sample_size, row.sample_kept, row.sample_sealed)
    if any(fact is not None for fact in facts):
        sample = NewSample(
            number=row.sample,
            load=LOAD_BEFORE if has_load else None,
            size=row.sample_size,
            kept_where=row.sample_kept,
            half_sealed=row.sample_sealed,
        )
        yield NewEntry("sample", when.poured, when.exactness, area, row.crew, sample=sample)
    if row.sample is not None and row.sample_signed_by is not None and row.sample_signed_on is not None:
        signed = Approval(row.sample, row.sample_signed_by)
        yield NewEntry("approval", *when.of(row.sample_signed_on), area, approval=signed)
