"""A job's colors: readings by age, forecast with range, when it settles, when to judge it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from finishlog.color.aging import cure, weathering
from finishlog.desk.color import flags
from finishlog.desk.color import learned as learning
from finishlog.desk.color.curve import Curve, curve
from finishlog.desk.color.learned import Row, Sorted, State
from finishlog.desk.color.sealer import penetrating
from finishlog.desk.placed.named import area_of
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.color import ColorPoint, ColorReading, ColorTrack, JobColor, Lab, SealedLook
from finishlog.records.log import Area, Job, main_first
from finishlog.records.shop import Shop
from finishlog.records.when import zone_of
from finishlog.retrying import anew
from finishlog.trade.poured import ended
from finishlog.trade.upkeep.windows import first_comparable

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from finishlog.records.answers import LearningRow
    from finishlog.store import Reader

    Floats = NDArray[np.float64]

METHOD = "cure-2"
BAND_DAYS = (0, 0.5, 1, 1.5, 2, 3, 4, 5, 6, 7, 9, 11, 14, 17, 20, 24, 28, 33, 38, 45, 52, 60)
_APART = 0.3
_SPOTS = ("base", "field")


def job(services: Services, handle: str, area: str | None = None, by: Sequence[float] = ()) -> JobColor:
    """Every area of a job, or one by name, and its samples. `by` are further ages in days.

    Raises InputError for a job or an area that is not there.
    """
    with services.log().reading() as log:
        found, shop = log.job(log.resolve(handle)), log.shop()
        rows = log.learning_rows_of(found.handle)
        recipes = _recipes(log, found.handle)
    one = None if area is None else area_of(found, area)
    poured = _poured(found, one or next(iter(main_first(found.areas)), None))
    wanted = found.areas if one is None else (one,)
    ordered = sorted(wanted, key=lambda one: one.kind != "field")
    zone = zone_of(found)
    scene = _Scene(
        services, found.handle, zone, services.clock(), shop, recipes, tuple(map(float, by)),
        found.state == "planned",
    )  # fmt: skip
    tracks = [*_areas(scene, found, ordered, rows), *_samples(scene, ordered, rows, area is None)]
    state = learning.state(services, "base", found.handle)
    age = None if poured is None else _days(scene.now - poured)
    return JobColor(
        found.handle, f"{found.customer.name} · {found.name}",
        poured.astimezone(zone).date() if poured else None, age, tuple(tracks),
        state.jobs, state.learned.noise, METHOD,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Scene:
    services: Services
    handle: str
    zone: ZoneInfo
    now: datetime
    shop: Shop
    recipes: Mapping[str, tuple[str, tuple[str, ...]]]
    """By area, the recipe that its family starts from or counts as, and the jobs whose recipe was joined to it."""
    by: tuple[float, ...]
    planned: bool = False


def _recipes(log: Reader, handle: str) -> dict[str, tuple[str, tuple[str, ...]]]:
    told = log.joined()
    named = {area: told.get(root, root) for area, root in log.families(handle).items()}
    standing = set(told.values())
    return {area: (uid, log.joined_to(uid) if uid in standing else ()) for area, uid in named.items()}


def _areas(
    scene: _Scene, job: Job, areas: Sequence[Area], rows: Sequence[LearningRow]
) -> Iterator[ColorTrack]:
    for area in areas:
        own = [row for row in rows if row.area in (area.uid, None) and not row.apart]
        recipe, joined = scene.recipes.get(area.uid, (None, ()))
        soaked = penetrating(job, area)
        yield replace(_track(scene, area.name, None, own, _poured(job, area), recipe, soaked), joined=joined)


def _samples(
    scene: _Scene, areas: Sequence[Area], rows: Sequence[LearningRow], all_of_job: bool
) -> Iterator[ColorTrack]:
    names = {area.uid: area.name for area in areas}
    wanted = [row for row in rows if all_of_job or row.area in names]
    for number in sorted({row.reading.sample for row in wanted if row.reading.sample is not None}):
        own = [replace(row, apart=False) for row in wanted if row.reading.sample == number]
        apart = any(row.apart for row in wanted if row.reading.sample == number)
        name = names.get(own[0].area) if own[0].area else None
        yield _track(scene, name, number, own, own[0].poured, None if apart else own[0].recipe)


def _poured(job: Job, area: Area | None) -> datetime | None:
    """The end that was logged of the area's pour, or of the job's; None where its day is not known."""
    end = ended(job, area.uid if area else None)
    return end.happened if end else None


def _track(
    scene: _Scene, area: str | None, sample: int | None, rows: Sequence[LearningRow],
    poured: datetime | None, recipe: str | None, soaked: bool = False,
) -> ColorTrack:  # fmt: skip
    """`soaked`: its sealer, logged or planned, is a penetrating one."""
    spot = _spot(rows)
    state = learning.state(scene.services, spot, scene.handle)
    of_spot = [row for row in rows if row.reading.spot == spot]
    held = learning.sort(of_spot, state.coats)
    key = learning.key_of(scene.handle, next((row.area for row in of_spot), None))
    recipe_jobs = state.learned.of_recipe(recipe, (key,))
    empty = ColorTrack(area, sample, spot, _readings(rows, None, None, scene.zone), (), (), None, None, None, None,
                       None, None, recipe_jobs, ())  # fmt: skip
    if poured is None:
        return replace(empty, flags=(flags.PLANNED if scene.planned else flags.NO_POUR,))
    if not held.curve and not held.late and not recipe_jobs:
        on = _day(poured, scene.shop.final_color_day, scene.zone)
        return replace(empty, final_color_on=on, flags=tuple(flags.unread(held)))
    dose = next((row.dose_percent for row in of_spot if row.recipe == recipe), None)
    made = curve(state, recipe, held, () if sample is not None else (key,), dose)
    return _filled(scene, empty, rows, held, made, replace(state, look=state.look_of(soaked)), poured)


def _filled(
    scene: _Scene, empty: ColorTrack, rows: Sequence[LearningRow], held: Sorted, made: Curve, state: State,
    poured: datetime,
) -> ColorTrack:  # fmt: skip
    final, age = float(scene.shop.final_color_day), _days(scene.now - poured)
    ages = sorted({*map(float, scene.shop.photo_ages), final, *scene.by, *([age] if age >= 0 else [])})
    points = _points(made, ages, poured, scene.zone)
    by_age = {point.age_days: point for point in points}
    lab, cov = made.at(BAND_DAYS)
    readings = _readings(rows, held, made, scene.zone)
    found = replace(
        empty, readings=readings,
        forecast=tuple(p for p in points if p.age_days != age or age in scene.by),
        band=tuple(zip(map(float, BAND_DAYS), _labs(lab), _sds(cov), strict=True)),
        today=by_age.get(age), final=by_age[final], final_color_on=_day(poured, final, scene.zone),
        compare_from=first_comparable(poured.astimezone(scene.zone).date(), scene.shop),
        sealed=_sealed(state, made, final, poured, scene.zone), damp_preview=_newest_damp(readings),
    )  # fmt: skip
    return replace(found, flags=tuple(flags.flags(found, held, state, made)))


def _spot(rows: Iterable[LearningRow]) -> str:
    """The base where it was read, else the whole field."""
    read = {row.reading.spot for row in rows}
    return next((spot for spot in _SPOTS if spot in read), "base")


def _points(made: Curve, ages: Sequence[float], poured: datetime, zone: ZoneInfo) -> tuple[ColorPoint, ...]:
    lab, cov = made.at(ages)
    radii = cure.radius90(lab, cov)
    return tuple(
        ColorPoint(age, _day(poured, age, zone), color, sd, float(radius))
        for age, color, sd, radius in zip(ages, _labs(lab), _sds(cov), radii, strict=True)
    )


def _sealed(state: State, made: Curve, final: float, poured: datetime, zone: ZoneInfo) -> SealedLook | None:
    """The settled color under the sealer; None until a slab was read bare and sealed."""
    if not state.look.pairs:
        return None
    lab, cov = weathering.sealed_look(state.look, *made.at([final]))
    radius = float(cure.radius90(lab, cov)[0])
    point = ColorPoint(final, _day(poured, final, zone), _labs(lab)[0], _sds(cov)[0], radius)
    return SealedLook(point, state.look.pairs)


def _readings(
    rows: Sequence[LearningRow], held: Sorted | None, made: Curve | None, zone: ZoneInfo
) -> tuple[ColorReading, ...]:
    """Every reading of every spot by age, dry bare ones with what they counted."""
    counted: dict[int, float] = {}
    curve: set[int] = set()
    coats = {row.number for _, row in held.looks_sealed} if held is not None else set()
    if held is not None and made is not None:
        counted = {row.number: 0.0 for _, row in held.no_concrete}
        counted |= _counted(held.curve, made.fit.weights()) | _counted(held.late, made.old.weight)
        curve = {row.number for _, row in held.curve}
    ordered = sorted(rows, key=lambda row: (row.happened, row.number))
    return tuple(
        _reading(row, counted.get(row.number), row.number in curve, row.number in coats, zone)
        for row in ordered
    )


def _counted(rows: Sequence[Row], weights: Floats) -> dict[int, float]:
    """Weights by entry number; they stand in the order of age."""
    by_age = sorted(rows, key=lambda row: row[0])
    return {row.number: float(weight) for (_, row), weight in zip(by_age, weights, strict=True)}


def _reading(
    row: LearningRow, weight: float | None, in_curve: bool, looks_sealed: bool, zone: ZoneInfo
) -> ColorReading:
    read = row.reading
    return ColorReading(
        row.number, row.happened.astimezone(zone).date(), learning.age_days(row), read.spot,
        (read.L, read.a, read.b), learning.lab_sd(row), read.damp, read.sealed, read.sample, read.photo,
        in_curve, weight, weight is not None and weight < _APART, looks_sealed,
    )  # fmt: skip


def _newest_damp(readings: Sequence[ColorReading]) -> ColorReading | None:
    """The look of a wetted slab previews the sealed one."""
    return next((r for r in reversed(readings) if r.damp and r.spot in _SPOTS), None)


def _labs(lab: Floats) -> list[Lab]:
    return [(float(L), float(a), float(b)) for L, a, b in lab]


def _sds(cov: Floats) -> list[Lab]:
    return _labs(np.sqrt(np.einsum("mii->mi", cov)))


def _days(span: timedelta) -> float:
    return span.total_seconds() / 86400


def _day(poured: datetime, age: float, zone: ZoneInfo) -> date:
    return (poured.astimezone(zone) + timedelta(days=age)).date()


# --- kept as given ------------------------------------------------------------------------------------


@anew
def keep_forecast(services: Services, handle: str, area: str | None = None) -> str:
    """Keep the forecast that is being acted on, with its inputs and method; the job's handle.

    Raises InputError where there is nothing to forecast from.
    """
    from finishlog.desk.color import as_json
    from finishlog.records.writing import NewAdvice

    found = job(services, handle, area)
    track = next((one for one in found.areas if one.forecast), None)
    if track is None:
        cause = "; ".join(flag for one in found.areas for flag in one.flags)
        raise InputError(f"{found.handle} has no forecast to save.", cause)
    inputs = {"area": track.area, "readings": [as_json.reading_json(r) for r in track.readings]}
    answer = as_json.track_json(found, track)
    with services.log().writing() as log:
        log.add_advice(found.handle, NewAdvice(
            "forecast", METHOD, json.dumps(inputs, sort_keys=True), json.dumps(answer, sort_keys=True)
        ))  # fmt: skip
    return found.handle
