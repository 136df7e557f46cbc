"""Due windows of a slab's work, in hours after the end of its pour (settings; common practice, no source).

Stage kinds define their own windows; the rest are here.
"""

from __future__ import annotations

from datetime import date, timedelta

from finishlog.records.shop import Shop
from finishlog.trade.stages.base import Params, Window

DAY_H = 24
SHEET_H = DAY_H
"""A plastic sheet lies a day: at least 16 h (ASTM D4263), on one evening and off the next."""
SHEET_LEAST_H = 16


def sweep(params: Params, shop: Shop) -> Window:
    """Powder is swept dry before the rinse, so in its window."""
    return Window(
        "pour_end", shop.rinse_from_h, shop.rinse_to_h, shop.rinse_usual_from_h, shop.rinse_usual_to_h
    )


def dryness_test(params: Params, shop: Shop) -> Window:
    """The sheet goes down a day before sealing may start, usually a day before it usually does."""
    usual = shop.seal_usual_day * DAY_H - SHEET_H
    return Window(
        "pour_end",
        max(shop.seal_from_day * DAY_H - SHEET_H, 0),
        shop.seal_to_day * DAY_H - SHEET_H,
        usual,
        usual,
    )


def photo(age_days: int) -> Window:
    """On the day of that age; still useful later, up to a tenth of the age (ours)."""
    opens = age_days * DAY_H
    return Window("pour_end", opens, opens + DAY_H + opens // 10, opens, opens + DAY_H)


def first_comparable(poured: date, shop: Shop) -> date:
    """The day a slab can first be judged and compared, everywhere: the shop's setting."""
    return poured + timedelta(days=shop.first_comparable_day)


def compare(shop: Shop) -> Window:
    """From the first day worth comparing to the final-color day."""
    first, last = shop.first_comparable_day * DAY_H, shop.final_color_day * DAY_H
    return Window("pour_end", first, max(first, last), first, max(first, last))


def reseal_years(shop: Shop, *, harsh: bool = False) -> tuple[int, int]:
    """Years from a coat to the start and end of its renewal window."""
    if harsh:
        return shop.reseal_harsh_from_years, shop.reseal_harsh_to_years
    return shop.reseal_from_years, shop.reseal_to_years


def reseal_days(last_coat: date, shop: Shop, *, harsh: bool = False) -> tuple[date, date]:
    """First and last day of a coat's renewal window; `harsh`: a pool, salt or traffic.

    A coat of February 29 falls due on February 28 in a year without one.
    """
    from dateutil.relativedelta import relativedelta

    low, high = reseal_years(shop, harsh=harsh)
    return last_coat + relativedelta(years=low), last_coat + relativedelta(years=max(low, high))
