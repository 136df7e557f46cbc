"""The dates and windows of a plan, with what to watch on each. Windows: common practice, no source."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

from dateutil.relativedelta import relativedelta

from finishlog.desk.words import left_words, season
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import PlanDay
from finishlog.records.shop import Shop
from finishlog.trade import stages
from finishlog.trade.pour import cold
from finishlog.trade.stages import Window
from finishlog.trade.upkeep.season import open_day, season_words
from finishlog.trade.upkeep.windows import first_comparable
from finishlog.units import write_date, write_weekday

_SATURDAY, _SUNDAY = 5, 6


def days(
    on: date, reference: AsPlaced, shop: Shop, system: str = "us", air_f: Fraction | None = None
) -> tuple[PlanDay, ...]:
    """Pour, joint, sweep and rinse, photos, seal, first day worth comparing, final color, reseal.

    Below 40 °F the rinse comes later; where the usual day to seal is off season, the sealer waits for the season.
    """
    return (
        _pour(on),
        _joint(on, shop),
        _rinse(on, reference, shop, air_f),
        _photos(on, shop),
        _seal(on, shop, system),
        _compare(on, shop),
        _final(on, shop),
        _reseal(on, shop),
    )


def _pour(on: date) -> PlanDay:
    warning = f"{_day_name(on)} pour: ask the plant about a {_day_name(on)} batch." if _weekend(on) else ""
    return PlanDay(
        "pour",
        "Pour",
        on,
        on,
        write_weekday(on),
        "same slump and water-cement ratio; a sample from each load",
        warning,
    )


def _joint(on: date, shop: Shop) -> PlanDay:
    window = _window("joint", shop)
    return PlanDay(
        "joint", "Joints", on, on + timedelta(days=1),
        f"{write_weekday(on)}, {window.opens_h} to {window.closes_h} h after the pour",
        "saw-cut the same night",
    )  # fmt: skip


def _rinse(on: date, reference: AsPlaced, shop: Shop, air_f: Fraction | None) -> PlanDay:
    window = _window("rinse", shop)
    times = cold.slower(air_f) if air_f is not None else Fraction(1)
    first, last = (int(hours * (times or 1)) for hours in (window.usual_from_h, window.usual_to_h))
    opens, closes = _at(on, first), _at(on, last)
    age = reference.rinse_age_h
    watch = (
        f"sweep dry first; last time {age:.0f} h"
        if age is not None
        else "sweep dry first; old rinse age unknown"
    )
    if left := left_words(reference):
        watch += f", {left}"
    if cold.is_cold(air_f):
        watch += (
            f"; in the cold, later than the usual {window.usual_from_h} to {window.usual_to_h} h (from memory): "
            "go by how hard it is, never if it freezes that night"
        )
    ages = f"{first} to {last} h old"
    return PlanDay(
        "rinse", "Sweep and rinse", opens, closes, f"{_span(opens, closes)}, {ages}",
        watch, _weekend_words(opens, closes, "rinse"),
    )  # fmt: skip


def _photos(on: date, shop: Shop) -> PlanDay:
    ages = tuple(shop.photo_ages)
    return PlanDay(
        "photo", "Photos", on + timedelta(days=ages[0]), on + timedelta(days=ages[-1]),
        "day " + ", ".join(str(age) for age in ages), "dry slab, open shade, card in the frame",
    )  # fmt: skip


def _seal(on: date, shop: Shop, system: str) -> PlanDay:
    window = _window("seal", shop)
    target = _at(on, window.usual_from_h)
    if target.month not in shop.care_months:
        return _seal_in_season(on, target, shop)
    opens, closes = _at(on, window.opens_h), _at(on, window.closes_h)
    above = "3 °C" if system == "metric" else "5 °F"
    return PlanDay(
        "seal", "Seal", opens, closes, f"{write_weekday(target)}, or {_span(opens, closes)} when proven dry",
        f"dry, steady or cooling, out of sun, {above} above the dew point until tack-free",
    )  # fmt: skip


def _seal_in_season(on: date, target: date, shop: Shop) -> PlanDay:
    """The usual day is off season: sooner if proven dry while the season lasts, else when it opens again."""
    window = _window("seal", shop)
    opens = seal_day(on, shop)
    early = [day for day in _every(_at(on, window.opens_h), target) if day.month in shop.care_months]
    sooner = f"; or {_span(early[0], early[-1])}, only if proven dry" if early else ""
    return PlanDay(
        "seal", "Seal", opens, opens + timedelta(days=window.closes_h // 24 - window.opens_h // 24),
        f"in {season(opens)}, from {write_date(opens)}{sooner}",
        f"day {window.usual_from_h // 24} is {write_weekday(target)}, outside your season "
        f"({season_words(shop.care_months)}); the slab must be {shop.seal_slab_low_f} °F or warmer; "
        "no de-icer on bare concrete before that",
    )  # fmt: skip


def seal_day(on: date, shop: Shop) -> date:
    """The usual day to seal, or the first of the month in which the shop seals again."""
    target = _at(on, _window("seal", shop).usual_from_h)
    if target.month in shop.care_months:
        return target
    return open_day(target, shop.care_months).replace(day=1)


def _every(first: date, last: date) -> list[date]:
    return [first + timedelta(days=i) for i in range((last - first).days)]


def _compare(on: date, shop: Shop) -> PlanDay:
    first = first_comparable(on, shop)
    return PlanDay(
        "compare_from", "Compare from", first, first, write_weekday(first),
        f"day {shop.first_comparable_day}: the first day worth comparing; bare to bare, sealed to sealed",
    )  # fmt: skip


def _final(on: date, shop: Shop) -> PlanDay:
    last = on + timedelta(days=shop.final_color_day)
    return PlanDay(
        "final_color", "Final color", last, last, f"about {write_weekday(last)}",
        f"day {shop.final_color_day} in good sun",
    )  # fmt: skip


def _reseal(on: date, shop: Shop) -> PlanDay:
    sealed = seal_day(on, shop)
    opens = sealed + relativedelta(years=shop.reseal_from_years)
    closes = sealed + relativedelta(years=shop.reseal_to_years)
    return PlanDay(
        "reseal", "Reseal", opens, closes, f"{write_date(opens)} to {write_date(closes)}",
        "by condition first; at a pool, salt or traffic after "
        f"{shop.reseal_harsh_from_years} to {shop.reseal_harsh_to_years} years; old and new slab in one visit",
    )  # fmt: skip


def _window(stage: str, shop: Shop) -> Window:
    window = stages.kind(stage).window({}, shop)
    assert window is not None
    return window


def _at(on: date, hours: int) -> date:
    """The day so many whole days of hours after the pour's."""
    return on + timedelta(hours=hours)


def _weekend(day: date) -> bool:
    return day.weekday() >= _SATURDAY


def _day_name(day: date) -> str:
    return "Saturday" if day.weekday() == _SATURDAY else "Sunday" if day.weekday() == _SUNDAY else "weekday"


def _weekend_words(opens: date, closes: date, what: str) -> str:
    """Said before the pour; a window that only ends on a weekend leaves a weekday for it."""
    if _weekend(opens):
        return f"The {what} lands on {_day_name(opens)}: who does it?"
    if _weekend(closes):
        return f"{write_weekday(opens)}, or the {what} runs into {_day_name(closes)}: who does it?"
    return ""


def _span(opens: date, closes: date) -> str:
    return write_weekday(opens) if opens == closes else f"{write_weekday(opens)} to {write_weekday(closes)}"
