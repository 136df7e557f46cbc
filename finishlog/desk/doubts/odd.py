"""Possible but odd facts of an entry, asked once and allowed with a reason; and warnings.

Limits without a named setting are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from finishlog.desk import words as say
from finishlog.desk.doubts import amounts, bookings, on_shelf, ready, same_work
from finishlog.desk.doubts.scene import Scene
from finishlog.desk.doubts.sealer_sheet import folded
from finishlog.errors import InputError
from finishlog.records.log import Entry
from finishlog.records.when import ROUGH, has_hours
from finishlog.records.writing import NewEntry, NewLoad, NewMaterialUse, NewProduct
from finishlog.trade import poured, release
from finishlog.trade.events import entry_kind, kinds_in_order
from finishlog.trade.shelf import in_base
from finishlog.units import exact, rough_span, write_date, write_number, write_rough

_AFTER = tuple(kind.key for kind in kinds_in_order() if kind.comes == "afterwards")
EARLY_RINSE_H = 12
EARLY_SEAL_H = 72
SLACK = timedelta(minutes=10)
STIFF_IN, WET_IN = 2, 7
LARGE_LOAD = exact(1.5)
RINSE_PSI = 3000
NIGHT = (21, 4)
"""Night hours: work then is rare, and `2:30` for the afternoon is an easy slip."""
SAME_NIGHT = timedelta(hours=8)


class Doubt(InputError):
    """Asked, and allowed with a reason. `doubts` says each in a sentence."""

    def __init__(self, title: str, cause: str = "", *, where: str = "", example: str = "") -> None:
        super().__init__(
            title, cause, where=where, example=example or '--because "the truck came a day early"'
        )
        self.doubts: tuple[str, ...] = (title,)


def ask(doubts: Sequence[str]) -> None:
    """Raise the doubts there are. Raises Doubt."""
    if doubts:
        doubt = Doubt(" ".join(doubts), "If that is right, say why.")
        doubt.doubts = tuple(doubts)
        raise doubt


def doubts(new: NewEntry, scene: Scene) -> tuple[str, ...]:
    """What is odd about the entry, each in a sentence; of a correction what was not odd before."""
    old = next((e for e in scene.job.history if e.number == scene.without), None)
    answered = _found(_as_new(old, scene), scene) if old else {}
    return tuple(doubt for doubt in _found(new, scene) if doubt not in answered)


def _found(new: NewEntry, scene: Scene) -> dict[str, None]:
    return dict.fromkeys((*_in_the_future(new, scene), *_at_night(new, scene), *_before_the_pour(new, scene),
                          *_amounts(new, scene),
                          *amounts.doubts(new, scene.job, scene.shop, scene.own),
                          *amounts.off_planned(new, scene.job, scene.shop), *_early_seal(new, scene),
                           *ready.doubts(new, scene), *_reclaimed(new, scene),
                           *bookings.doubts(new, scene), *on_shelf.of_entry(new, scene),
                           *same_work.doubts(new, scene), *scene.further))  # fmt: skip


def _as_new(old: Entry, scene: Scene) -> NewEntry:
    """As much of an entry as doubts are about."""
    area = next((a.name for a in scene.job.areas if a.uid == old.area), None)
    held = old.load
    load = NewLoad(held.yards, slump_in=held.slump_in, slump_end_in=held.slump_end_in) if held else None
    uses = tuple(
        NewMaterialUse(NewProduct(use.product.name, use.product.kind), use.amount, use.unit)
        for use in old.materials
    )
    return NewEntry(
        old.kind, old.happened, old.exactness, area, facts=old.facts, load=load, coat=old.coat, materials=uses
    )


def _in_the_future(new: NewEntry, scene: Scene) -> Iterator[str]:
    here = scene.now.astimezone(scene.zone)
    if not has_hours(new.exactness):
        ahead = rough_span(scene.day(new.happened), new.exactness)[0] > here.date()
    else:
        ahead = new.happened > scene.now + SLACK
    if ahead:
        yield f"{_when(new, scene)} is in the future: it is {write_date(here.date())}, {say.clock(here)} now."


def _at_night(new: NewEntry, scene: Scene) -> Iterator[str]:
    """An hour at night, unless logged that night or near other work on the job."""
    local = new.happened.astimezone(scene.zone)
    if not has_hours(new.exactness) or entry_kind(new.kind).at_night or not _is_night(local):
        return
    others = (e for e in scene.job.entries if e.number != scene.without and has_hours(e.exactness))
    same = [e.happened for e in others]
    if _is_night(scene.now.astimezone(scene.zone)):
        same.append(scene.now)
    if not any(_is_night(at.astimezone(scene.zone)) and abs(at - new.happened) < SAME_NIGHT for at in same):
        other = local.replace(hour=(local.hour + 12) % 24)
        part = "afternoon" if other.hour >= 12 else "morning"
        clock = f"{local.hour % 12 or 12}:{local.minute:02}"
        yield f"{clock} at night? Write {say.clock(other)} for the {part}."


def _is_night(local: datetime) -> bool:
    return local.hour >= NIGHT[0] or local.hour < NIGHT[1]


def _before_the_pour(new: NewEntry, scene: Scene) -> Iterator[str]:
    if new.kind == "pour":
        yield from _pour_after(new, scene)
    elif entry_kind(new.kind).comes == "afterwards":
        yield from _too_early(new, scene)
    elif entry_kind(new.kind).comes == "on_the_day":
        placed = scene.entries("load", "pour", area=new.area)
        first = min((rough_span(scene.day(e.happened), e.exactness)[0] for e in placed), default=None)
        if first is not None and rough_span(scene.day(new.happened), new.exactness)[1] < first:
            yield f"{_what(new.kind)} on {_day(new.happened, scene)}, before the pour of {write_date(first)}."


def _too_early(new: NewEntry, scene: Scene) -> Iterator[str]:
    end = scene.pour_of(new)
    if end is None:
        if not scene.entries("load") and scene.job.state == "planned":
            yield f"{_what(new.kind)}, but the job is planned, not poured."
    elif scene.is_before(new, end):
        yield f"{_what(new.kind)} on {_when(new, scene)}, before the pour of {_when(end, scene)}."
    zero = scene.zero_of(new)
    age = None if zero is None else _age_h(new, zero)
    if new.kind == "rinse" and age is not None and 0 <= age < EARLY_RINSE_H:
        yield f"Rinsed {write_number(age, 1)} h after the pour; before {EARLY_RINSE_H} h color washes out."


def _early_seal(new: NewEntry, scene: Scene) -> Iterator[str]:
    """A first coat on a slab of hours, unless the sealer's own sheet allows it; counted from a load if need be."""
    zero = scene.zero_of(new) if new.kind == "seal" else None
    if zero is None or (new.coat is not None and new.coat.reseal):
        return
    age = _age_h(new, zero)
    if age is None:
        age = 24.0 * (scene.day(new.happened) - scene.day(zero.happened)).days
    allowed = [scene.sheets.get(folded(use.product.name)) for use in new.materials]
    days = next((limit.age_days for limit in allowed if limit and limit.age_days), None)
    if 0 <= age < min(EARLY_SEAL_H, 24 * days if days is not None else EARLY_SEAL_H):
        usual = (
            f"usually at day {scene.shop.seal_usual_day}, not before day {days or scene.shop.seal_from_day}"
        )
        yield f"Sealed {say.hours(age)} after the pour: {usual}; a wet slab turns the film white."


def _pour_after(new: NewEntry, scene: Scene) -> Iterator[str]:
    """Work that would have come before its pour: of no earlier one, it can only be this one's."""
    others = scene.entries("pour", area=new.area)
    for late in scene.entries(*_AFTER, area=new.area):
        of_another = any(not scene.is_before(late, end) for end in others)
        if not of_another and poured.is_before(late, new, scene.zone):
            what = f"entry {late.number}, {_what(late.kind).lower()} on {_when(late, scene)}"
            yield f"The pour on {_when(new, scene)} comes after {what}."
            return


def _age_h(new: NewEntry, end: Entry) -> float | None:
    """Hours since the end of the pour; None where one of the two has no hour."""
    if not has_hours(new.exactness, end.exactness):
        return None
    return (new.happened - end.happened).total_seconds() / 3600


def _amounts(new: NewEntry, scene: Scene) -> Iterator[str]:
    load = new.load
    if load is None:
        return
    for slump in (load.slump_in, load.slump_end_in):
        if slump is not None and not STIFF_IN <= slump < WET_IN:
            yield f"A slump of {write_number(slump)} in is {'stiff' if slump < STIFF_IN else 'wet'} for flatwork."
    if load.yards is not None and exact(load.yards) > scene.shop.truck_yd3 * LARGE_LOAD:
        yield f"{write_number(load.yards)} yd³ is more than a truck holds ({write_number(scene.shop.truck_yd3)} yd³)."


def _reclaimed(new: NewEntry, scene: Scene) -> Iterator[str]:
    """More powder swept up than was thrown, where every amount thrown is known."""
    swept = new.facts.get("reclaimed_lb")
    if new.kind != "sweep" or not isinstance(swept, int | float):
        return
    uses = [use for e in scene.entries("powder_release", area=new.area) for use in e.materials]
    if uses and all(use.amount is not None for use in uses):
        thrown = [in_base(use.amount or 0, use.unit, use.product) for use in uses]
        total = sum(value for value, unit in thrown if unit == "lb")
        if exact(swept) > total and all(unit == "lb" for _, unit in thrown):
            yield f"{write_number(swept)} lb reclaimed, but only {write_number(total)} lb thrown."


def warnings(new: NewEntry, scene: Scene) -> tuple[str, ...]:
    """Warnings without a question: outside the usual window, over a pressure."""
    return (*_window(new, scene), *_pressure(new), *_shades(new), *ready.warnings(new, scene))


def _window(new: NewEntry, scene: Scene) -> Iterator[str]:
    kind, end = entry_kind(new.kind), scene.zero_of(new)
    window = kind.window(new.facts, scene.shop)
    reseal = new.coat is not None and new.coat.reseal
    if window is None or end is None or reseal or window.anchor != "pour_end":
        return
    age = _age_h(new, end)
    if age is not None and age >= 0 and not window.opens_h <= age <= window.closes_h:
        usual = f"{say.hours(window.opens_h)} to {say.hours(window.closes_h)}"
        yield f"{say.hours(age)} after the pour: {kind.title.lower()} is usually at {usual}."


def _pressure(new: NewEntry) -> Iterator[str]:
    psi = new.facts.get("pressure_psi")
    if isinstance(psi, int | float) and psi > RINSE_PSI:
        yield f"{write_number(psi)} psi: {RINSE_PSI:,} at most, or the surface comes off with the release."


def _shades(new: NewEntry) -> Iterator[str]:
    """Two shades thrown as one mix: weighed each, or by parts."""
    if new.kind != "powder_release":
        return
    ratio, weighed = new.facts.get("mix_ratio"), [use.amount is not None for use in new.materials]
    known = ratio is None and all(weighed)
    if not known and (odd := release.odd_shades(None if ratio is None else str(ratio), len(weighed))):
        yield odd


def _what(kind: str) -> str:
    verb = entry_kind(kind).verb
    return verb[:1].upper() + verb[1:]


def _day(instant: datetime, scene: Scene) -> str:
    return write_date(scene.day(instant))


def _when(entry: NewEntry | Entry, scene: Scene) -> str:
    local = entry.happened.astimezone(scene.zone)
    if entry.exactness in ROUGH:
        return write_rough(local.date(), entry.exactness)
    day = write_date(local.date())
    return day if entry.exactness == "day" else f"{day}, {say.clock(local)}"
