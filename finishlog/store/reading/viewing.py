"""Converts a Job to a View for list and search. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from finishlog.records.log import Area, Entry, Job, JobLine, Product, Reading, main_first
from finishlog.records.placed import dry_bare
from finishlog.records.when import has_days, zone_of
from finishlog.store.reading.seasons import day_words, rough_words
from finishlog.store.schema.fold import key, tokens

_BASE = ("pigment", "color hardener")
_RELEASE = ("powder release", "liquid release")
_SEALER = ("sealer",)
_POURS = ("pour", "load")


@dataclass(frozen=True, slots=True)
class View:
    """A job as stored in the projections. `texts` follows TEXT_COLUMNS."""

    line: JobLine
    sort_on: date
    texts: tuple[str, ...]
    facets: frozenset[tuple[str, str, str]]  # facet, folded value, value


def view(job: Job, logged: date) -> View:
    """A job's view; `logged` sorts a job without a day of its own."""
    line = _line(job)
    rough = next((day for day, _ in _rough_days(job)), None)
    return View(
        line, line.poured_on or rough or line.planned_on or logged, _texts(job, line), frozenset(_facets(job))
    )


def pour_days(job: Job) -> tuple[date, ...]:
    """Pour days on the site's clock, earliest first."""
    zone = zone_of(job)
    known = (entry for entry in job.of_kind(*_POURS) if has_days(entry.exactness))
    return tuple(sorted({entry.happened.astimezone(zone).date() for entry in known}))


def _rough_days(job: Job) -> tuple[tuple[date, str], ...]:
    """Middles of the months and seasons of pours without a known day."""
    zone = zone_of(job)
    rough = (entry for entry in job.of_kind(*_POURS) if not has_days(entry.exactness))
    return tuple(sorted({(entry.happened.astimezone(zone).date(), entry.exactness) for entry in rough}))


def _line(job: Job) -> JobLine:
    main = _main_area(job)
    days = pour_days(job)
    base, release = _reading(job, main, "base"), _reading(job, main, "release color")
    return JobLine(
        handle=job.handle,
        name=job.name,
        customer=job.customer.name,
        street=job.site.street,
        town=job.site.town,
        state=job.state,
        poured_on=days[0] if days else None,
        planned_on=job.planned_on,
        base=_joined(_shades(job, main, _BASE)),
        release=_joined(_shades(job, main, _RELEASE)),
        pattern=next(_patterns(job, main), None),
        base_hex=_hex(base),
        release_hex=_hex(release),
        color_name=_color_name(base),
        release_color_name=_color_name(release),
        release_left_percent=_release_left(job, main),
    )


def _main_area(job: Job) -> Area | None:
    """The only field, else the largest area."""
    return next(iter(main_first(job.areas)), None)


def _serves(entry: Entry, area: Area | None) -> bool:
    """Whether an entry concerns this area: names it, names none, or its load went there."""
    if area is None:
        return True
    if entry.load is not None and entry.load.areas:
        return any(uid == area.uid for uid, _ in entry.load.areas)
    return entry.area in (None, area.uid)


def _shades(job: Job, area: Area | None, kinds: tuple[str, ...]) -> list[str]:
    """Product names of these kinds: as used, else from the recipe."""
    names = dict.fromkeys(product.name for product in _used(job, area) if product.kind in kinds)
    if not names:
        names = dict.fromkeys(product.name for product in _planned(area) if product.kind in kinds)
    return list(names)


def _used(job: Job, area: Area | None) -> Iterator[Product]:
    for entry in job.entries:
        if _serves(entry, area):
            yield from (use.product for use in entry.materials)


def _planned(area: Area | None) -> Iterator[Product]:
    if area is not None and area.recipe is not None:
        for stage in area.recipe.stages:
            yield from (material.product for material in stage.materials)


def _patterns(job: Job, area: Area | None) -> Iterator[str]:
    """The pattern as stamped, then as planned."""
    for entry in job.of_kind("stamp"):
        if _serves(entry, area) and entry.facts.get("pattern"):
            yield str(entry.facts["pattern"])
    stage = area.recipe.stage("stamp") if area is not None and area.recipe is not None else None
    if stage is not None and stage.params.get("pattern"):
        yield str(stage.params["pattern"])


def _release_left(job: Job, area: Area | None) -> float | None:
    left = [
        entry.facts["release_left_percent"]
        for entry in job.of_kind("rinse")
        if _serves(entry, area) and "release_left_percent" in entry.facts
    ]
    return float(left[-1]) if left and isinstance(left[-1], int | float) else None


def _reading(job: Job, area: Area | None, spot: str) -> Reading | None:
    """The latest dry, bare reading of a spot."""
    found = dry_bare(job, spot, area.uid if area else None)
    return found[-1][1] if found else None


def _hex(reading: Reading | None) -> str | None:
    if reading is None:
        return None
    from finishlog.color.notation.space import lab_to_hex

    return lab_to_hex((reading.L, reading.a, reading.b))


def _color_name(reading: Reading | None) -> str | None:
    if reading is None:
        return None
    from finishlog.color.notation.names import nearest_name

    return nearest_name((reading.L, reading.a, reading.b))


def _joined(names: list[str]) -> str | None:
    return " + ".join(names) or None


def _facets(job: Job) -> Iterator[tuple[str, str, str]]:
    """Values of all areas, so that a border is found by its own shade."""
    for facet, values in (
        ("base", _of_all_areas(job, _BASE)),
        ("release", _of_all_areas(job, _RELEASE)),
        ("sealer", _of_all_areas(job, _SEALER)),
        ("pattern", (name for area in job.areas for name in _patterns(job, area))),
        ("plant", _plants(job)),
        ("year", (str(day.year) for day in _days(job))),
    ):
        for value in values:
            yield facet, key(value), value


def _of_all_areas(job: Job, kinds: tuple[str, ...]) -> Iterator[str]:
    for area in job.areas or (None,):
        yield from _shades(job, area, kinds)


def _days(job: Job) -> tuple[date, ...]:
    planned = (job.planned_on,) if job.planned_on is not None else ()
    return pour_days(job) or planned


def _plants(job: Job) -> Iterator[str]:
    for entry in job.entries:
        if entry.load is not None and entry.load.mix is not None and entry.load.mix.plant is not None:
            yield entry.load.mix.plant


def _texts(job: Job, line: JobLine) -> tuple[str, ...]:
    named = (job.customer.name, *(owner.customer.name for owner in job.owners), job.name)
    who = _words(*named)
    return (
        _text((*named, *(word for word in tokens(job.handle) if word not in who))),
        _text((job.site.street, job.site.town)),
        _text(dict.fromkeys(_look(job, line))),
        " ".join((*(word for day in _days(job) for word in day_words(day)), *_rough_words(job))),
        _text(dict.fromkeys(_rest(job))),
    )


def _rough_words(job: Job) -> Iterator[str]:
    for day, exactness in _rough_days(job):
        yield from rough_words(day, exactness)


def _words(*texts: str | None) -> set[str]:
    return {word for text in texts if text for word in tokens(text)}


def _text(parts: Iterable[str | None]) -> str:
    return " ".join(word for part in parts if part for word in tokens(part))


def _look(job: Job, line: JobLine) -> Iterator[str | None]:
    yield from (line.color_name, line.release_color_name)
    for area in job.areas:
        yield from _patterns(job, area)
        yield area.recipe.name if area.recipe is not None else None
        for product in (*_used(job, area), *_planned(area)):
            yield from (product.name, product.maker)


def _rest(job: Job) -> Iterator[str | None]:
    yield from (job.note, job.customer.note, job.customer.phone, job.customer.email, job.site.map_note)
    for area in job.areas:
        yield from (area.name, area.kind)
        for stage in area.recipe.stages if area.recipe is not None else ():
            yield from (material.lot for material in stage.materials)
    for item in job.buried:
        yield from (item.what, item.where)
    for owner in job.owners:
        yield from (owner.note, owner.customer.note, owner.customer.phone, owner.customer.email)
    for entry in job.entries:
        yield from _told(entry)


def _told(entry: Entry) -> Iterator[str | None]:
    """Searchable texts of an entry."""
    yield from (entry.person, entry.note)
    yield from (use.lot for use in entry.materials)
    yield from (fact for fact in entry.facts.values() if isinstance(fact, str))
    yield from (file.name for file in entry.files)
    if entry.load is not None:
        yield entry.load.ticket
        if entry.load.mix is not None:
            yield from (entry.load.mix.plant, entry.load.mix.number, entry.load.mix.cement_kind)
    if entry.sample is not None:
        yield from (entry.sample.kept_where, entry.sample.cement)
        yield from (pigment.name for pigment, _ in entry.sample.doses)
    if entry.approval is not None:
        yield entry.approval.by
    if entry.claim is not None:
        yield from (entry.claim.complaint, entry.claim.cause, entry.claim.action, entry.claim.outcome)
