"""Entries from a row of a paper log: pour, loads, finish, sealer, readings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from datetime import tzinfo as Zone

from finishlog.desk.paper_log import pour_loads
from finishlog.desk.paper_log.pour_loads import Truck
from finishlog.desk.paper_log.pour_rows import (
    FURTHER,
    Moments,
    area_name,
    has_sealer,
    number,
    release,
    released,
    rinsed,
    sealer,
    word,
)
from finishlog.inputs import colors
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.records.log import Claim, Coat, Exactness, Fact, Reading
from finishlog.records.writing import NewEntry, NewMaterialUse, NewProduct
from finishlog.units import RoughDay


def entries(
    row: PourRow, zone: Zone, truck: Truck | None, *, further_load: bool = False
) -> tuple[NewEntry, ...]:
    """All that happened, in order. A further load of a pour already told of is only its load.

    `truck` is None where the row of another area tells the load of both.
    """
    when = Moments(row, zone)
    loads = tuple(pour_loads.entries(truck, when)) if truck else ()
    if further_load:
        return (*loads, *_further_note(row, when))
    short: dict[str, Fact] = {"ran_short": True, "why_short": row.why_short} if row.why_short else {}
    pour = NewEntry("pour", when.poured, when.exactness, area_name(row), row.crew, row.note, facts=short)
    fresh = (*_bags(row, when), *_further(row, when, later=False), *_finish(row, when))
    rest = (*fresh, *_weather(row, when), *_rinses(row, when), *_further(row, when, later=True))
    return (pour, *loads, *rest, *_coats(row, when), *_readings(row, when), *_claims(row, when))


def _further_note(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    """What was noted of a further load; the pour has its own note already."""
    if row.note:
        yield NewEntry("note", when.poured, when.on_the_day, area_name(row), row.crew, row.note)


def _bags(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    if row.bags is None:
        return
    facts: dict[str, Fact] = {"bags": float(row.bags)}
    if row.bag_water is not None:
        facts["water_per_bag_gal"] = float(row.bag_water)
    kind = "repair mix" if row.area_kind == "repair" else "overlay mix"
    uses = (
        (NewMaterialUse(NewProduct(row.bag_product, kind), float(row.bags), "bag"),)
        if row.bag_product
        else ()
    )
    yield NewEntry(
        "bag_mix", when.poured, when.exactness, area_name(row), row.crew, facts=facts, materials=uses
    )


def _finish(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    area = area_name(row)
    if row.finishing_note:
        yield NewEntry("finishing", when.poured, when.on_the_day, area, note=row.finishing_note)
    if released(row):
        use = NewMaterialUse(release(row), number(row.release_lb), "lb", row.release_lot)
        yield NewEntry("powder_release", when.poured, when.on_the_day, area, materials=(use,))
    if row.pattern:
        yield NewEntry("stamp", when.poured, when.on_the_day, area, facts={"pattern": row.pattern})
    for kind, method in (("cure", row.cure), ("joint", row.joints)):
        if method:
            yield NewEntry(kind, when.poured, when.on_the_day, area, facts={"method": word(method)})


def _further(row: PourRow, when: Moments, *, later: bool) -> Iterator[NewEntry]:
    """Color hardener and liquid release on the day of the pour; wash and stain on days of their own."""
    for stage in FURTHER:
        use = stage.used(row)
        if use is None or stage.later != later:
            continue
        day = stage.cell(row, "on") if later else None
        happened, exactness = when.of(day) if day else (when.poured, when.on_the_day)
        facts: dict[str, Fact] = stage.facts(row)
        yield NewEntry(stage.stage, happened, exactness, area_name(row), facts=facts, materials=(use,))


def _weather(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    """Of the whole job: rows of two areas that tell the same weather tell it once."""
    facts: dict[str, Fact] = {}
    if row.air_low is not None:
        facts["low_f"] = float(row.air_low)
    if row.air_high is not None:
        facts["high_f"] = float(row.air_high)
    if facts or row.weather:
        yield NewEntry("weather", when.poured, when.on_the_day, note=row.weather, facts=facts)


def _rinses(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    if not rinsed(row):
        return
    facts: dict[str, Fact] = {}
    if row.rinse_psi is not None:
        facts["pressure_psi"] = float(row.rinse_psi)
    if row.release_left is not None:
        facts["release_left_percent"] = float(row.release_left)
    if row.rinse_age is not None:
        facts["age_h"] = float(row.rinse_age)  # the paper's own figure: the hour of the pour may be unknown
    happened, exactness = _rinse_time(row, when)
    yield NewEntry("rinse", happened, exactness, area_name(row), facts=facts)


def _rinse_time(row: PourRow, when: Moments) -> tuple[datetime, Exactness]:
    if row.rinsed_on is not None:
        return when.at(row.rinsed_on, row.rinsed_at), "exact" if row.rinsed_at else when.known(row.rinsed_on)
    assert row.rinse_age is not None
    if when.on_the_day != "day":
        return when.poured, when.on_the_day  # the month alone is known: the age stands in its facts
    return when.poured + timedelta(hours=float(row.rinse_age)), "about"


def _coats(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    count = row.coats or (2 if row.sealer_2_gal is not None else None)
    if row.sealed_on is not None:
        for place in range(1, (count or 1) + 1):
            coat, uses = Coat(place if count else None), tuple(_sealer_use(row, place))
            yield NewEntry(
                "seal",
                when.at(row.sealed_on),
                when.known(row.sealed_on),
                area_name(row),
                materials=uses,
                coat=coat,
            )
    if row.resealed_on is not None:
        yield NewEntry(
            "seal",
            when.at(row.resealed_on),
            when.known(row.resealed_on),
            area_name(row),
            coat=Coat(reseal=True),
        )


def _sealer_use(row: PourRow, coat: int) -> Iterator[NewMaterialUse]:
    gallons = {1: row.sealer_gal, 2: row.sealer_2_gal}.get(coat)
    if has_sealer(row) or gallons is not None:
        yield NewMaterialUse(sealer(row), number(gallons), "gal", row.sealer_lot)


def _readings(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    day = color_day(row)
    for spot, color in (("base", row.base_color), ("release color", row.release_color)):
        if color is not None and day is not None:
            reading = _reading(row, color, spot)
            yield NewEntry("reading", *when.of(day), area_name(row), reading=reading)


def _reading(row: PourRow, color: colors.Color, spot: str) -> Reading:
    instrument = row.color_instrument or color.instrument
    sd_L, sd_a, sd_b = colors.UNCERTAINTY.get(instrument, (None, None, None))
    damp, sealed = row.color_state == "damp", row.color_state == "sealed"
    L, a, b = color.lab
    return Reading(L, a, b, sd_L, sd_a, sd_b, spot, damp, sealed, instrument)


def color_day(row: PourRow) -> date | None:
    """The day the color was read."""
    rough = row.poured_on is None or isinstance(row.poured_on, RoughDay)
    if row.color_on is not None or row.color_age is None or row.poured_on is None or rough:
        return row.color_on
    return row.poured_on + timedelta(days=row.color_age)


def _claims(row: PourRow, when: Moments) -> Iterator[NewEntry]:
    if row.claim is None or row.claim_on is None:
        return
    claim = Claim(
        row.claim, row.claim_cause, row.claim_action, row.claim_outcome, settled=row.claim_outcome is not None
    )
    yield NewEntry("claim", *when.of(row.claim_on), area_name(row), claim=claim)
