"""The evening before a pour: weekend work, the night's deadline, shelf, buried items, weather."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from finishlog.desk import words
from finishlog.desk.time_left import day as day_said
from finishlog.errors import InputError
from finishlog.records.due import Ahead, AheadPart
from finishlog.records.log import Job
from finishlog.records.when import zone_of
from finishlog.trade import stages
from finishlog.trade.stages import Window
from finishlog.units import WEEKDAYS, plain, write_weekday

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.shop import Shop
    from finishlog.store import Reader

NEAR_DAYS = 1
"""A pour is looked ahead at from the day before it."""
_SATURDAY = 5


def pours(services: Services, at: datetime | None = None) -> tuple[Ahead, ...]:
    """The pours of today and tomorrow, each with what to settle first."""
    now = at or services.clock()
    with services.log().reading() as log:
        found = log.due(now + timedelta(days=NEAR_DAYS), since=now, keys=("pour",), limit=20)
        return tuple(_ahead(log, services, log.job(handle), now) for handle, _ in found)


def ahead(services: Services, handle: str, at: datetime | None = None) -> Ahead:
    """The look ahead at one planned job, however far. Raises InputError for one that has no day or is poured."""
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        if job.state != "planned" or job.planned_on is None:
            why = "It is already poured." if job.state != "planned" else "It has no day."
            raise InputError(f"No pour ahead on {job.handle}.", why, where="JOB")
        return _ahead(log, services, job, at or services.clock())


def evening(services: Services, handle: str, system: str = "us") -> Ahead | None:
    """The look ahead at a job that is poured today or tomorrow; None for any other."""
    now = services.clock()
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        if job.state != "planned" or job.planned_on is None:
            return None
        days = (job.planned_on - now.astimezone(zone_of(job)).date()).days
        return _ahead(log, services, job, now, system) if 0 <= days <= NEAR_DAYS else None


def _ahead(log: Reader, services: Services, job: Job, now: datetime, system: str = "us") -> Ahead:
    assert job.planned_on is not None
    zone = zone_of(job)
    shop = log.shop()
    parts = (
        *_rinse(job.planned_on, shop), *_joint(job, shop), *_material(log, services, job, system),
        *_buried(job, system), *_weather(shop), *_samples(job),
    )  # fmt: skip
    when = day_said(job.planned_on, now.astimezone(zone).date())
    named = when if when in WEEKDAYS else f"{when}, {write_weekday(job.planned_on)}"
    ordered = tuple(sorted(parts, key=lambda part: not part.settle))
    return Ahead(job.handle, job.customer.name, job.name, named, ordered)


def _rinse(on: date, shop: Shop) -> Iterator[AheadPart]:
    """Said before the pour: on whom the rinse falls."""
    window = _window("rinse", shop)
    first, last = on + timedelta(hours=window.usual_from_h), on + timedelta(hours=window.usual_to_h)
    span = " to ".join(dict.fromkeys((write_weekday(first), write_weekday(last))))
    if first.weekday() >= _SATURDAY:
        yield AheadPart("rinse", "Rinse", f"It lands on the weekend, {span}: who does it?", settle=True)
    elif last.weekday() >= _SATURDAY:
        yield AheadPart(
            "rinse", "Rinse", f"{write_weekday(first)}, or it runs into the weekend.", settle=True
        )
    else:
        yield AheadPart("rinse", "Rinse", span)


def _joint(job: Job, shop: Shop) -> Iterator[AheadPart]:
    methods = {
        stage.params.get("method", "saw")
        for area in job.areas
        if area.recipe and (stage := area.recipe.stage("joint")) is not None
    }
    if methods and "saw" not in methods:
        return
    window = _window("joint", shop)
    text = f"Cut {window.opens_h} to {window.closes_h} h after the pour, the same night. Who has the saw?"
    yield AheadPart("joint", "Joints", text)


def _window(key: str, shop: Shop) -> Window:
    window = stages.kind(key).window({}, shop)
    assert window is not None
    return window


def _material(log: Reader, services: Services, job: Job, system: str) -> Iterator[AheadPart]:
    from finishlog.desk.shelf import needs
    from finishlog.desk.shelf import shelf as shelving

    wanted = needs.kept(log, job)
    if not wanted:
        yield AheadPart("material", "Material", "The recipe gives no amount.", settle=True)
    for each in shelving.enough(log, services, wanted, system):
        yield AheadPart("material", each.wanted.kind.capitalize(), each.text, each.settle)


def _buried(job: Job, system: str) -> Iterator[AheadPart]:
    if not job.buried:
        yield AheadPart("buried", "Buried", "Nothing logged: ask before you stake, cut or dig.")
    for item in job.buried:
        yield AheadPart("buried", "Buried", words.buried(item, system), settle=True)


def _weather(shop: Shop) -> Iterator[AheadPart]:
    limits = (
        f"care at {plain(shop.evaporation_care)}, stop and protect at {plain(shop.evaporation_stop)} lb/ft²/h"
    )
    text = f"Check the forecast: rain, wind, heat. finishlog weather works out evaporation: {limits}."
    yield AheadPart("weather", "Weather", text)


def _samples(job: Job) -> Iterator[AheadPart]:
    text = "A 2 × 2 ft sample from each load; seal half of it."
    if job.reference is not None:
        text += f" Match {job.reference}."
    yield AheadPart("sample", "Samples", text)
