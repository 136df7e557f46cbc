"""Compares rows and entries: same pour, same facts?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from datetime import tzinfo as Zone
from fractions import Fraction

from finishlog.desk.paper_log.pour_loads import ADMIXTURES
from finishlog.desk.paper_log.pour_rows import FURTHER
from finishlog.inputs.colors import Color
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.records.log import Area, Entry, Job, Load, MaterialUse
from finishlog.records.writing import NewArea, NewEntry, NewLoad, NewMaterialUse
from finishlog.store.schema.fold import key as fold
from finishlog.units import Dose, plain, write_date

OF_A_TRUCK = frozenset(
    (
        *("yards", "truck_yards", "returned", "dumped", "balance_yards", "balance", "ticket", "mix"),
        *("slump", "slump_end", "water_gal", "water_when", "admixtures", *ADMIXTURES),
        *("sample", "sample_size", "sample_kept", "sample_sealed", "sample_signed_by", "sample_signed_on"),
        *("base_lot", "dose", "base_lb", "base_2_lot", "dose_2", "base_2_lb", "note"),
    )
)
"""Columns that may differ from truck to truck of one pour."""

Told = tuple[str, object]
_SAME_DAY = (
    *("load", "sample", "bag_mix", "finishing", "powder_release", "stamp", "cure", "joint", "weather"),
    *("color_hardener", "liquid_release"),
)
_COLUMNS = {"base color": "base_color", "base": "base_color", "release color": "release_color"}
_FACTS = {
    "pressure_psi": "rinse_psi", "release_left_percent": "release_left", "age_h": "rinse_age",
    "low_f": "air_low", "high_f": "air_high", "water_per_bag_gal": "bag_water", "air_percent": "air",
    "load_wind_mph": "wind",
    "base": "stain_base",
}  # fmt: skip
_PRODUCTS = {
    "pigment": "base", "powder release": "release", "sealer": "sealer", "overlay mix": "bag_product",
    "repair mix": "bag_product", **{stage.product_kind: stage.column for stage in FURTHER},
}  # fmt: skip
_DAYS = {"rinse": "rinsed_on", **{stage.stage: f"{stage.column}_on" for stage in FURTHER if stage.later}}
_METHODS = {"cure": "cure", "joint": "joints"}
_NOTES = {"pour": "note", "load": "dose", "finishing": "finishing_note", "weather": "weather"}


def same_truck(one: PourRow, other: PourRow) -> bool:
    """Whether two rows of one pour tell of one truck: no tickets to tell them apart, or the same ticket."""
    return one.ticket is None or other.ticket is None or fold(one.ticket) == fold(other.ticket)


def differing(one: PourRow, other: PourRow, *, truck: bool = False) -> tuple[str, ...]:
    """Columns in which two rows differ; another `truck` may differ in its own, and leave the others blank."""
    names = [name for name in PourRow.model_fields if not (truck and name in OF_A_TRUCK)]
    return tuple(
        name
        for name in names
        if not _alike(getattr(one, name), getattr(other, name))
        and not (truck and getattr(other, name) is None)
    )


def differing_in(one: PourRow, other: PourRow, column: str) -> bool:
    """Whether two rows tell a column otherwise."""
    return not _alike(getattr(one, column), getattr(other, column))


def _alike(one: object, other: object) -> bool:
    if isinstance(one, str) and isinstance(other, str):
        return fold(one) == fold(other)
    return one == other


def shown(row: PourRow, column: str) -> str:
    """The row's value of a column in a few words."""
    return words(getattr(row, column))


def words(value: object) -> str:
    """A value as the report of doubtful rows shows it."""
    if value is None:
        return "blank"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Fraction):
        return plain(value)
    if isinstance(value, Color):
        return words(value.lab)
    if isinstance(value, Dose):
        return f"{plain(value.value)} {value.unit}"
    if isinstance(value, date) and not isinstance(value, datetime):
        return write_date(value)
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return ", ".join(words(part) for part in value)
    text = str(value)
    return text if len(text) <= 40 else text[:39] + "…"


def has_pour(job: Job, area: str, pour: NewEntry, zone: Zone) -> bool:
    """Whether the log has a pour or load of that area on that day, corrected since or not."""
    uids = _uids(job, area)
    day = pour.happened.astimezone(zone).date()
    return any(
        entry.kind in ("pour", "load")
        and entry.area in uids
        and entry.happened.astimezone(zone).date() == day
        for entry in job.history
    )


def has_weather(entries: Iterable[Entry], told: NewEntry, zone: Zone) -> bool:
    """Whether one of the entries tells of the same weather of that day."""
    day = told.happened.astimezone(zone).date()
    return any(
        entry.kind == told.kind
        and entry.happened.astimezone(zone).date() == day
        and (entry.note, dict(entry.facts)) == (told.note, dict(told.facts))
        for entry in entries
    )


def load_of_ticket(job: Job, row: PourRow, zone: Zone) -> int | None:
    """The number of the log's entry for the truck of that ticket on that day, or None."""
    if row.ticket is None:
        return None
    return next(
        (
            entry.number
            for entry in job.history
            if entry.load is not None
            and entry.load.ticket is not None
            and fold(entry.load.ticket) == fold(row.ticket)
            and entry.happened.astimezone(zone).date() == row.poured_on
        ),
        None,
    )


def _uids(job: Job, area: str) -> set[str | None]:
    return {None, *(a.uid for a in job.areas if fold(a.name) == area)}


def untold(told: Sequence[NewEntry], new: NewArea, job: Job, zone: Zone) -> tuple[str, str] | None:
    """The first fact that a row tells and the log's history does not: its column and its value."""
    area = fold(new.name)
    day = told[0].happened.astimezone(zone).date()
    uids = _uids(job, area)
    entries = [e for e in job.history if e.area in uids and _counts(e, day, zone)]
    sizes = (fact for a in job.areas if fold(a.name) == area for fact in _size(a))
    known = {*_all(entries, zone), *sizes}
    facts = [*_size(new), *_all(told, zone)]
    return next(((column, words(value)) for column, value in facts if (column, value) not in known), None)


def _size(area: Area | NewArea) -> list[Told]:
    sizes: tuple[Told, ...] = (
        ("area_ft2", area.area_ft2),
        ("depth", area.depth_in),
        ("edge_yd3", area.edge_yd3),
    )
    return [(column, size) for column, size in sizes if size is not None]


def _counts(entry: Entry, day: date, zone: Zone) -> bool:
    return entry.kind not in _SAME_DAY or entry.happened.astimezone(zone).date() == day


def _all(entries: Iterable[Entry | NewEntry], zone: Zone) -> Iterator[Told]:
    for entry in entries:
        for column, value in _facts(entry, zone):
            if value is not None:
                yield column, fold(value) if isinstance(value, str) else value


def _facts(entry: Entry | NewEntry, zone: Zone) -> Iterator[Told]:
    """What an entry tells, by the column of the sheet that would tell it."""
    day = entry.happened.astimezone(zone).date()
    if entry.kind == "pour":
        yield "poured_end", entry.happened if entry.exactness == "exact" else None
    if entry.kind in _NOTES:
        yield _NOTES[entry.kind], entry.note
    if entry.kind in _DAYS:
        yield _DAYS[entry.kind], day
    if entry.coat is not None:
        yield "resealed_on" if entry.coat.reseal else "sealed_on", day
        yield "coats", None if entry.coat.reseal else entry.coat.number
    if entry.reading is not None:
        reading = entry.reading
        yield _COLUMNS.get(reading.spot, "base_color"), (day, reading.L, reading.a, reading.b)
    if entry.load is not None:
        yield from _load_facts(entry.load)
    yield from _kept_facts(entry, day)
    for key, value in entry.facts.items():
        yield _METHODS.get(entry.kind, _FACTS.get(key, key)), value
    for use in entry.materials:
        yield from _use_facts(use)


def _kept_facts(entry: Entry | NewEntry, day: date) -> Iterator[Told]:
    """Samples, signatures and complaints."""
    if entry.sample is not None:
        yield "sample", entry.sample.number
        yield "sample_size", entry.sample.size
        yield "sample_kept", entry.sample.kept_where
        yield "sample_sealed", entry.sample.half_sealed
    if entry.approval is not None:
        yield "sample_signed_by", (entry.approval.sample, fold(entry.approval.by))
        yield "sample_signed_on", day
    if entry.claim is not None:
        yield "claim", entry.claim.complaint
        yield "claim_on", day
        yield "claim_cause", entry.claim.cause
        yield "claim_action", entry.claim.action
        yield "claim_outcome", entry.claim.outcome


def _load_facts(load: Load | NewLoad) -> Iterator[Told]:
    yield "yards", load.yards
    for _, yards in load.areas:
        yield "yards", yards
    yield "balance", True if load.is_balance else None
    yield "water_gal", load.water_gal
    yield "water_when", load.water_when
    yield "slump_end", load.slump_end_in
    yield "returned", load.returned_yd3
    yield "dumped", load.dumped_yd3
    yield "ticket", load.ticket
    yield "slump", load.slump_in
    if load.mix is not None:
        yield "plant", load.mix.plant
        yield "mix", load.mix.number
        yield "cement_kind", load.mix.cement_kind
        yield "cement", load.mix.cement_lb_per_yd3
        yield "scm_kind", load.mix.scm_kind
        yield "scm", load.mix.scm_lb_per_yd3
        yield "sand", load.mix.sand
        yield "admixtures", load.mix.admixtures


def _use_facts(use: MaterialUse | NewMaterialUse) -> Iterator[Told]:
    column = _PRODUCTS.get(use.product.kind, "note")
    yield column, use.product.name
    yield f"{column}_maker", use.product.maker
    yield f"{column}_lot", use.lot
    if use.amount is not None:
        yield f"{column}_{use.unit}", (fold(use.product.name), use.amount)
