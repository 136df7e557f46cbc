"""The dates and windows of a plan, with what to watch on each. Windows: common practice, no source."""

from __future__ import annotations

from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from finishlog.desk.words import left_words
from finishlog.records.plan import AsPlaced, PlanDay
from finishlog.records.shop import Shop
from finishlog.trade import stages
from finishlog.trade.stages import Window
from finishlog.units import write_date, write_weekday

_SATURDAY, _SUNDAY = 5, 6


def days(on: date, reference: AsPlaced, shop: Shop, system: str = "us") -> tuple[PlanDay, ...]:
    """Pour, joint, sweep and rinse, photos, seal, first day worth comparing, final color, reseal."""
    return (
        _pour(on),
        _joint(on, shop),
        _rinse(on, reference, shop),
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
        "tonight's deadline if they are cut",
    )  # fmt: skip


def _rinse(on: date, reference: AsPlaced, shop: Shop) -> PlanDay:
    window = _window("rinse", shop)
    opens, closes = _at(on, window.usual_from_h), _at(on, window.usual_to_h)
    age = reference.rinse_age_h
    watch = (
        f"sweep dry first; then it was {age:.0f} h"
        if age is not None
        else "sweep dry first; the old rinse age is not known"
    )
    if left := left_words(reference):
        watch += f", {left}"
    ages = f"{window.usual_from_h} to {window.usual_to_h} h old"
    return PlanDay(
        "rinse", "Sweep and rinse", opens, closes, f"{_span(opens, closes)}, {ages}",
        watch, _weekend_words(opens, closes, "rinse"),
    )  # fmt: skip


def _photos(on: date, shop: Shop) -> PlanDay:
    ages = tuple(shop.photo_ages)
    return PlanDay(
        "photo", "Photos", on + timedelta(days=ages[0]), on + timedelta(days=ages[-1]),
        "day " + ", ".join(str(age) for age in ages), "dry slab, open shade, the card in the frame",
    )  # fmt: skip


def _seal(on: date, shop: Shop, system: str) -> PlanDay:
    window = _window("seal", shop)
    target = _at(on, window.usual_from_h)
    opens, closes = _at(on, window.opens_h), _at(on, window.closes_h)
    above = "3 °C" if system == "metric" else "5 °F"
    return PlanDay(
        "seal", "Seal", opens, closes, f"{write_weekday(target)}, or {_span(opens, closes)} when proven dry",
        f"dry, steady or cooling, out of sun, {above} above the dew point until tack-free",
    )  # fmt: skip


def _compare(on: date, shop: Shop) -> PlanDay:
    first = on + timedelta(days=shop.first_comparable_day)
    return PlanDay(
        "compare_from", "Compare from", first, first, write_weekday(first),
        f"day {shop.first_comparable_day}: the first day worth comparing; bare with bare, sealed with sealed",
    )  # fmt: skip


def _final(on: date, shop: Shop) -> PlanDay:
    last = on + timedelta(days=shop.final_color_day)
    return PlanDay(
        "final_color", "Final color", last, last, f"about {write_weekday(last)}",
        f"day {shop.final_color_day} in good sun",
    )  # fmt: skip


def _reseal(on: date, shop: Shop) -> PlanDay:
    sealed = _at(on, _window("seal", shop).usual_from_h)
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
        return f"The {what} falls on {_day_name(opens)}: who does it?"
    if _weekend(closes):
        return f"{write_weekday(opens)}, or the {what} runs into {_day_name(closes)}: who does it?"
    return ""


def _span(opens: date, closes: date) -> str:
    return write_weekday(opens) if opens == closes else f"{write_weekday(opens)} to {write_weekday(closes)}"
