"""Due rules of events after a pour: window, done or not, and why. Stage kinds state their own.

Windows come from `finishlog.trade.upkeep.windows` (settings; common practice, no source); late work shifts
what follows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

from finishlog.records.log import Entry
from finishlog.trade.due_slab import DueLine, FallsDue, Slab, midnight
from finishlog.trade.stages.base import Window
from finishlog.trade.stages.falling_due import days, dried, hours, not_before
from finishlog.trade.stages.rinse import has_powder
from finishlog.trade.upkeep import windows

LIFT_H = 24
"""The dryness-test sheet is lifted the next day."""


def _pour_end(slab: Slab) -> Iterator[DueLine]:
    if slab.has_end:
        return
    window = Window("load", 0, windows.DAY_H, 0, windows.DAY_H)
    why = "Log when the last concrete went down: everything after counts from it."
    yield hours(slab, "pour_end", "End of the pour", window, why, slab.end, caution=None)


def _sweep(slab: Slab) -> Iterator[DueLine]:
    if has_powder(slab) and not slab.done("sweep", "rinse"):
        why = "Sweep it dry before the rinse; clean powder goes back on the shelf."
        yield hours(slab, "sweep", "Sweep", windows.sweep({}, slab.shop), why, caution="sweep")


def _photos(slab: Slab) -> Iterator[DueLine]:
    """One per set age, taken on its day or later, before the next is due."""
    ages, poured, pictures = sorted(set(slab.shop.photo_ages)), slab.poured, _pictures(slab)
    for age, after in zip(ages, [*ages[1:], None], strict=True):
        opens = age * windows.DAY_H
        window = Window("pour_end", opens, opens + opens // 10, opens, opens)
        why = "Dry slab, open shade, card in the frame."
        line = days(slab, "photo", f"Photo, day {age}", window, why, caution=None)
        until = line.closes if after is None else max(line.closes, midnight(poured, slab.zone, after))
        if not any(line.opens <= entry.happened < until for entry in pictures):
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
    line = days(slab, "dryness_test", "Dryness test", window, why, caution="dryness_test")
    dry = dried(slab)
    again = slab.day(last.happened) + timedelta(days=1) if last is not None else None
    for day in (dry - timedelta(days=1) if dry else None, again):
        line = not_before(slab, line, day)
    yield line


def _lift(slab: Slab, laid: Entry) -> DueLine:
    window = Window("sheet", windows.SHEET_LEAST_H, LIFT_H, windows.SHEET_LEAST_H, LIFT_H)
    why = "The sheet is on; 16 h at least (ASTM D4263)."
    return hours(slab, "dryness_test", "Lift the sheet", window, why, laid, caution="dryness_test")


def _judge(slab: Slab) -> Iterator[DueLine]:
    window = windows.compare(slab.shop)
    line = days(slab, "judge_color", "Judge the color", window,
                 f"Day {window.opens_h // windows.DAY_H} is the first day worth comparing: dry to dry, bare to bare, "
                 "sealed to sealed.", caution=None)  # fmt: skip
    if not any(entry.happened >= line.opens for entry in slab.done("reading", "visit")):
        yield line


BOOKED = "Reseal, booked"


def _reseal(slab: Slab) -> Iterator[DueLine]:
    """As in Care, in the last months of its window; if booked, on its day; never after a refusal."""
    from finishlog.trade.upkeep import care  # late import: logging needs no calendar library
    from finishlog.trade.upkeep.season import crew_window, open_day

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
        yield not_before(slab, line, open_day(asked, slab.shop.care_months) if asked else None)


POUR_END = FallsDue("pour_end", "", _pour_end, by_hours=True)
SWEEP = FallsDue("sweep", "Sweep", _sweep, by_hours=True)
PHOTO = FallsDue("photo", "Photo", _photos)
DRYNESS_TEST = FallsDue("dryness_test", "Dryness test", _dryness_test)
JUDGE_COLOR = FallsDue("judge_color", "Color check", _judge, logged_as="reading")
RESEAL = FallsDue("reseal", "Reseal", _reseal, logged_as="seal")
