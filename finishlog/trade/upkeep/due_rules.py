"""One rule for each thing that falls due after a pour: its window, whether it is done, why it is due.

Windows are the stage kinds' and `finishlog.trade.upkeep.windows`' (settings; common practice, no source); what was
done late moves what follows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, timedelta

from finishlog.records.log import Entry
from finishlog.trade.stages import joint as joints
from finishlog.trade.stages import kind
from finishlog.trade.stages.base import Window
from finishlog.trade.upkeep import care, windows
from finishlog.trade.upkeep.due_slab import DueLine, Slab, midnight
from finishlog.trade.upkeep.season import crew_window, open_day
from finishlog.units import exact, plain

Rule = Callable[[Slab], Iterator[DueLine]]

_NO_JOINT = ("wall", "stairs", "repair", "overlay", "border", "band")
"""Areas that get joints only where the recipe says so; a field always."""
_WASHES = ("rinse", "antiquing_wash", "stain")
_RELEASES = ("powder_release", "liquid_release")
LIFT_H = 24
"""A sheet for the dryness test is lifted the day after."""


def _pour_end(slab: Slab) -> Iterator[DueLine]:
    if slab.has_end:
        return
    window = Window("load", 0, windows.DAY_H, 0, windows.DAY_H)
    why = "Log when the last concrete went down: everything after counts from it."
    yield replace(_hours(slab, "pour_end", "End of the pour", window, why, slab.end), caution=None)


def _joint(slab: Slab) -> Iterator[DueLine]:
    planned = slab.stage("joint") is not None
    window = kind("joint").window(slab.params("joint"), slab.shop)
    if window is None or slab.job.of_kind("joint", area=slab.uid):
        return  # tooled ones are logged before the end of the pour
    if planned or slab.area is None or slab.area.kind not in _NO_JOINT:
        yield _hours(
            slab, "joint", "Joints", window, f"Cut them {_span(window)} after the pour{_depth(slab)}."
        )


def _depth(slab: Slab) -> str:
    if slab.area is None or not slab.area.depth_in:
        return ""
    return f", {plain(joints.cut_depth_in(exact(slab.area.depth_in)), 2)} in deep"


def _sweep(slab: Slab) -> Iterator[DueLine]:
    if _has_powder(slab) and not slab.done("sweep", "rinse"):
        why = "Sweep it dry before the rinse; clean powder goes back on the shelf."
        yield _hours(slab, "sweep", "Sweep", windows.sweep({}, slab.shop), why)


def _rinse(slab: Slab) -> Iterator[DueLine]:
    window = kind("rinse").window(slab.params("rinse"), slab.shop)
    if window is None or slab.done("rinse") or not (slab.stage("rinse") or _has_powder(slab)):
        return
    why = f"Rinse at {_span(window, usual=True)}, {_span(window)} at most: later it sticks and comes off unevenly."
    yield _hours(slab, "rinse", "Rinse", window, why)


def _has_powder(slab: Slab) -> bool:
    """Whether powder lies on it, as far as anything says so; where nothing does it is taken to."""
    thrown = {entry.kind for entry in slab.job.of_kind(*_RELEASES, area=slab.uid)}
    return (
        "powder_release" in thrown
        or slab.stage("powder_release") is not None
        or not (slab.has_recipe | bool(thrown))
    )


def _photos(slab: Slab) -> Iterator[DueLine]:
    """One for each set age: taken on its day or after it, before the next one is due."""
    ages = sorted(set(slab.shop.photo_ages))
    for age, after in zip(ages, [*ages[1:], None], strict=True):
        opens = age * windows.DAY_H
        window = Window("pour_end", opens, opens + opens // 10, opens, opens)
        line = _days(slab, "photo", f"Photo, day {age}", window, "Dry slab, open shade, card in the frame.")
        until = line.closes if after is None else max(line.closes, midnight(slab.poured, slab.zone, after))
        if not any(line.opens <= entry.happened < until for entry in _pictures(slab)):
            yield replace(line, age_days=age)


def _pictures(slab: Slab) -> tuple[Entry, ...]:
    """Photos of any area: one picture shows the whole slab."""
    return slab.job.of_kind("photo")


def _dryness_test(slab: Slab) -> Iterator[DueLine]:
    if slab.done("seal"):
        return
    tests = slab.done("dryness_test")
    last = tests[-1] if tests else None
    if last is not None and last.facts.get("result") == "dry":
        return
    if last is not None and not {"result", "sheet_on_h"} & set(last.facts):
        yield _lift(slab, last)
        return
    window = windows.dryness_test({}, slab.shop)
    why = (f"Tape a sheet on hidden spots for 16 h. Dry: seal from day {slab.shop.seal_from_day}; "
           f"without it day {slab.shop.seal_usual_day}.")  # fmt: skip
    line = _days(slab, "dryness_test", "Dryness test", window, why)
    dried = _dried(slab)
    again = slab.day(last.happened) + timedelta(days=1) if last is not None else None
    for day in (dried - timedelta(days=1) if dried else None, again):
        line = _not_before(slab, line, day)
    yield line


def _lift(slab: Slab, laid: Entry) -> DueLine:
    window = Window("sheet", windows.SHEET_LEAST_H, LIFT_H, windows.SHEET_LEAST_H, LIFT_H)
    return _hours(
        slab, "dryness_test", "Lift the sheet", window, "The sheet is on; 16 h at least (ASTM D4263).", laid
    )


def _seal(slab: Slab) -> Iterator[DueLine]:
    """From its usual day; earlier only where it was proven dry; never before it is dry of the last wash."""
    window = kind("seal").window(slab.params("seal"), slab.shop)
    if window is None or slab.done("seal"):
        return
    proven = next((e for e in slab.done("dryness_test") if e.facts.get("result") == "dry"), None)
    if proven is None:
        window = Window(window.anchor, max(window.usual_from_h, window.opens_h), window.closes_h,
                        max(window.usual_from_h, window.opens_h), window.usual_to_h)  # fmt: skip
    why = f"Day {slab.shop.seal_usual_day}" + (", or now: proven dry" if proven else " as usual")
    line = _days(slab, "seal", "Seal", window, f"{why}; steady or cooling, out of the sun.")
    line = _not_before(slab, line, slab.day(proven.happened) if proven else None)
    dried = _dried(slab)
    moved = _not_before(slab, line, dried)
    if dried is not None and moved.opens > line.opens:
        moved = replace(moved, why=f"Let it dry from the last wash first. {moved.why}")
    yield moved


def _dried(slab: Slab) -> date | None:
    """The day from which it is dry again of the last wash."""
    washes = slab.done(*_WASHES)
    return slab.day(washes[-1].happened) + timedelta(days=slab.shop.dry_after_wash_days) if washes else None


def _second_coat(slab: Slab) -> Iterator[DueLine]:
    """The coat after the last one, while the planned number is not on."""
    coats = [entry for entry in slab.done("seal") if entry.coat is None or not entry.coat.reseal]
    planned = slab.params("seal").get("coats", 2)
    if not coats or len(coats) >= int(planned):
        return
    low, high = slab.shop.recoat_from_h, slab.shop.recoat_to_h
    window = Window("coat", low, max(low, high), low, max(low, high))
    title = "Second coat" if len(coats) == 1 else f"Coat {len(coats) + 1}"
    why = f"{_span(window)} after the last coat, thin and across it."
    yield _hours(slab, "second_coat", title, window, why, coats[-1])


def _judge(slab: Slab) -> Iterator[DueLine]:
    window = windows.compare(slab.shop)
    line = _days(slab, "judge_color", "Judge the color", window,
                 f"Day {window.opens_h // windows.DAY_H} is the first day worth comparing: dry to dry, bare to bare, "
                 "sealed to sealed.")  # fmt: skip
    if not any(entry.happened >= line.opens for entry in slab.done("reading", "visit")):
        yield line


BOOKED = "Reseal, booked"


def _reseal(slab: Slab) -> Iterator[DueLine]:
    """As in Care, in the last months of its window; booked, on its day; never after a no."""
    window = care.window(slab.job, slab.area, slab.shop, slab.zone)
    if window is None or care.owner_of(slab.job).leave_alone:
        return
    first, last = crew_window(window.due_from, window.due_to, slab.shop, worn=window.worn)
    opens, closes = midnight(first, slab.zone), midnight(last, slab.zone, 1)
    sealed = midnight(window.sealed_on, slab.zone)
    line = DueLine(
        "reseal", "Reseal", slab.uid, None, sealed, opens, opens, closes, closes, window.why, "reseal"
    )
    said = [entry for entry in slab.job.of_kind("care") if slab.day(entry.happened) >= window.sealed_on]
    state = said[-1].facts.get("state") if said else None
    day = care.day_of(said[-1].facts.get("on")) if said else None
    if state == "booked" and day is not None:
        opens, closes = midnight(day, slab.zone), midnight(day, slab.zone, 1)
        yield replace(line, title=BOOKED, opens=opens, usual_from=opens, usual_to=closes, closes=closes)
    elif state != "declined":
        asked = day if state == "ask_again" else None
        yield _not_before(slab, line, open_day(asked, slab.shop.care_months) if asked else None)


RULES: tuple[Rule, ...] = (
    _pour_end,
    _joint,
    _sweep,
    _rinse,
    _photos,
    _dryness_test,
    _seal,
    _second_coat,
    _judge,
    _reseal,
)
"""In the order of the work."""

_CAUTIONS = {"second_coat": "seal", "photo": None, "judge_color": None}


def _hours(slab: Slab, key: str, title: str, window: Window, why: str, after: Entry | None = None) -> DueLine:
    """A line counted in real hours, whatever the clocks did, after an entry (None: the end of the pour)."""
    zero = after or slab.end
    opens, usual_from, usual_to, closes = (
        zero.happened.astimezone(UTC) + timedelta(hours=hours)
        for hours in (window.opens_h, window.usual_from_h, window.usual_to_h, window.closes_h)
    )
    counted = slab.counted if after is None else ""
    return DueLine(key, title, slab.uid, None, zero.happened, opens, usual_from, usual_to, closes, why + counted,
                   _CAUTIONS.get(key, key))  # fmt: skip


def _days(slab: Slab, key: str, title: str, window: Window, why: str) -> DueLine:
    """A line counted in whole days of the site's calendar: from the begin of the first to the end of the last."""
    first, usual_first, usual_last, last = (
        hours // windows.DAY_H
        for hours in (window.opens_h, window.usual_from_h, window.usual_to_h, window.closes_h)
    )
    opens, usual_from = (midnight(slab.poured, slab.zone, days) for days in (first, usual_first))
    usual_to, closes = (midnight(slab.poured, slab.zone, days + 1) for days in (usual_last, last))
    return DueLine(key, title, slab.uid, None, slab.end.happened, opens, usual_from, usual_to, closes, why,
                   _CAUTIONS.get(key, key))  # fmt: skip


def _not_before(slab: Slab, line: DueLine, day: date | None) -> DueLine:
    """The line moved to that day; it keeps the time it had from its usual part to its close."""
    if day is None or (opens := midnight(day, slab.zone)) <= line.opens:
        return line
    usual_from = max(line.usual_from, opens)
    closes = max(line.closes, usual_from + (line.closes - line.usual_from))
    return replace(
        line, opens=opens, usual_from=usual_from, usual_to=max(line.usual_to, usual_from), closes=closes
    )


def _span(window: Window, *, usual: bool = False) -> str:
    low, high = (window.usual_from_h, window.usual_to_h) if usual else (window.opens_h, window.closes_h)
    return f"{low} to {high} h"
