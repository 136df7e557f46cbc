"""Contradictions in a row of a paper log, and unusual facts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from fractions import Fraction

from finishlog.desk.paper_log import pour_events, pour_rows
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.records.exchange import Remark
from finishlog.records.shop import SETTINGS
from finishlog.trade import dose as dosing
from finishlog.units import RoughDay, fixed, plain, rough_span, write_date

SETTING = {setting.key: setting for setting in SETTINGS}
HIGHEST_PSI = Fraction(3000)  # trade practice: 3,000 psi at most
BEFORE_THE_POUR = ("sample_signed_on",)
"""A sample may be poured and signed before the slab is."""
USUAL_FILL = (Fraction(4, 5), Fraction(3, 2))  # from memory: beyond it a figure was mistyped


def contradictions(line: int, row: PourRow, today: date) -> list[Remark]:
    """All that keeps the row from being a pour: facts that are needed, or that cannot both be."""
    return [Remark(line, column, what, example) for column, what, example in _contradictions(row, today)]


def _contradictions(row: PourRow, today: date) -> Iterator[tuple[str, str, str]]:
    if row.poured_on is None:
        yield "poured_on", "Give the pour date.", "2025-06-16"
    if row.customer is None and row.job is None:
        yield "customer", "Give the customer or the job.", "Ottoline Quillfeather"
    yield from days(row, today)
    yield from loose_ends(row)


def days(row: PourRow, today: date) -> Iterator[tuple[str, str, str]]:
    """Days to come, and days before the pour. Of a pour whose month alone is known, before that month."""
    poured = row.poured_on.first if isinstance(row.poured_on, RoughDay) else row.poured_on
    told = {
        "poured_on": row.poured_on,
        "rinsed_on": row.rinsed_on,
        "antiquing_on": row.antiquing_on,
        "stain_on": row.stain_on,
        "sealed_on": row.sealed_on,
        "resealed_on": row.resealed_on,
        "sample_signed_on": row.sample_signed_on,
        "claim_on": row.claim_on,
        "color_on" if row.color_age is None else "color_age": pour_events.color_day(row),
    }
    for column, day in told.items():
        if day is not None and (day.first if isinstance(day, RoughDay) else day) > today:
            yield (
                column,
                f"{write_date(day)} is in the future; the log keeps what already happened.",
                "2025-06-16",
            )
        elif column in BEFORE_THE_POUR:
            continue
        elif day is not None and poured is not None and row.poured_on is not None and _last(day) < poured:
            yield column, f"{write_date(day)} is before the pour on {write_date(row.poured_on)}.", ""


def _last(day: date) -> date:
    return rough_span(day, day.exactness)[1] if isinstance(day, RoughDay) else day


def loose_ends(row: PourRow) -> Iterator[tuple[str, str, str]]:
    """What cannot stand without another fact, or beside one."""
    rinsed = row.rinsed_on is not None or row.rinse_age is not None
    if row.rinsed_on is not None and row.rinse_age is not None:
        yield "rinse_age", "Fill rinsed_on or rinse_age, not both.", "36 h"
    if row.rinsed_at is not None and row.rinsed_on is None:
        yield "rinsed_at", "The rinse has a time but no day.", "rinsed_on 2025-06-18"
    for column in ("release_left", "rinse_psi"):
        if getattr(row, column) is not None and not rinsed:
            yield (
                column,
                "When was it rinsed? Fill rinsed_on or rinse_age; a guess will do.",
                "rinse_age 36 h",
            )
    read = row.base_color is not None or row.release_color is not None
    if read and pour_events.color_day(row) is None:
        yield "base_color", "When was the color read? Fill color_on or color_age.", "color_age 45"
    if row.color_on is not None and row.color_age is not None:
        yield "color_age", "Fill color_on or color_age, not both.", "45"
    if row.buried is None and (row.buried_where is not None or row.buried_depth is not None):
        yield "buried", "What is there?", "gas line"
    yield from _loose_products(row)
    yield from _loose_sample(row)
    yield from _loose_claim(row)
    if row.bag_water is not None and row.bags is None:
        yield "bags", "How many bags?", "12"
    if row.balance and row.balance_yards is not None:
        yield "balance", "This truck was the balance load, or one came after: not both.", "no"
    brought = (row.truck_yards or row.yards or Fraction(0)) + (row.balance_yards or Fraction(0))
    if row.yards is not None and (row.returned or 0) + (row.dumped or 0) > brought:
        yield "returned", "More went back than came.", "0.5"


def _loose_products(row: PourRow) -> Iterator[tuple[str, str, str]]:
    for stage in pour_rows.FURTHER:
        if not stage.later:
            continue
        told, day = stage.used(row) or stage.facts(row), stage.cell(row, "on")
        if told and day is None:
            yield f"{stage.column}_on", "When was it applied? A guess will do.", "2025-07-02"
        if stage.used(row) is None and (day is not None or stage.facts(row)):
            yield stage.column, "What was applied?", "unknown, if nobody knows"
    if row.sealed_on is None:
        for column in ("sealer_gal", "sealer_2_gal"):
            if getattr(row, column) is not None:
                yield "sealed_on", "When was it sealed? A guess will do.", "2025-07-15"
                return
    if row.sealer_2_gal is not None and row.coats is not None and row.coats < 2:
        yield "coats", "A second coat has gallons, but there was one coat.", "2"


def _loose_sample(row: PourRow) -> Iterator[tuple[str, str, str]]:
    signed = (row.sample_signed_by, row.sample_signed_on)
    if any(fact is not None for fact in signed):
        if row.sample is None:
            yield "sample", "Which sample was signed? Fill sample with its number.", "12"
        if row.sample_signed_by is None:
            yield "sample_signed_by", "Who signed it?", "Ottoline Quillfeather"
        if row.sample_signed_on is None:
            yield "sample_signed_on", "When was it signed? A guess will do.", "2025-06-20"


def _loose_claim(row: PourRow) -> Iterator[tuple[str, str, str]]:
    rest = (row.claim_on, row.claim_cause, row.claim_action, row.claim_outcome)
    if row.claim is None and any(fact is not None for fact in rest):
        yield "claim", "What was the complaint?", "lighter than the front"
    if row.claim is not None and row.claim_on is None:
        yield "claim_on", "When was the complaint? A guess will do.", "2025-09-02"


def flags(line: int, row: PourRow, *, color: bool = True) -> list[Remark]:
    """Facts out of the ordinary: kept as they were written, but named. `color`: the row tells its truck's."""
    found = (*(_over_limit(row) if color else ()), *_unusual(row))
    return [Remark(line, column, what) for column, what in found if color or column != "dose"]


def _over_limit(row: PourRow) -> Iterator[tuple[str, str]]:
    total = total_dose(row)
    maxima = [p.max_percent for p in pour_rows.pigments(row) if p.max_percent]
    if total and row.cement and dosing.over_limit(total, row.cement, maxima):
        found, limit = fixed(total / row.cement * 100, 1), plain(dosing.limit_percent(maxima))
        yield "dose", f"{found} % of cement is over the limit of {limit} % (ASTM C979/C979M §1.4)."


def _unusual(row: PourRow) -> Iterator[tuple[str, str]]:
    for column, value, low, high, unit in _ranges(row):
        if value is not None and not low <= value <= high:
            yield column, f"{plain(value)} {unit} is unusual ({plain(low)} to {plain(high)})."

    if row.cement is not None and row.scm is None and (odd := dosing.odd_content(row.cement)):
        yield "cement", odd


def _ranges(row: PourRow) -> Iterator[tuple[str, Fraction | None, Fraction, Fraction, str]]:
    """Column, value, usual range and unit; the ranges are the settings' (common practice, no source)."""
    powder = pour_rows.cementitious(row)
    dose = total_dose(row)
    color = SETTING["color_percent"]
    content = SETTING["cementitious_lb_per_yd3"]
    spread = SETTING["release_lb_per_100ft2"]
    slump = SETTING["slump_in"]
    yield "slump", row.slump, slump.low - 1, slump.high + 1, "in of slump"
    yield (
        "cement",
        powder if row.scm is not None else None,
        content.low,
        content.high,
        "lb/yd3 of cementitious",
    )
    yield "dose", dose / powder * 100 if dose and powder else None, color.low, color.high, "% of cementitious"
    yield "release_lb", _spread(row), spread.low, spread.high, "lb of release per 100 ft2"
    yield "rinse_age", row.rinse_age, *_span("rinse_from_h", "rinse_to_h"), "h at the rinse"
    yield "rinse_psi", row.rinse_psi, Fraction(0), HIGHEST_PSI, "psi"
    yield "sealed_on", _days_to_seal(row), *_span("seal_from_day", "seal_to_day"), "days to the sealer"
    yield "yards", _fill(row), *USUAL_FILL, "times the volume measured"


def _span(low: str, high: str) -> tuple[Fraction, Fraction]:
    return Fraction(str(SETTING[low].default)), Fraction(str(SETTING[high].default))


def _spread(row: PourRow) -> Fraction | None:
    return row.release_lb / row.area_ft2 * 100 if row.release_lb is not None and row.area_ft2 else None


def _days_to_seal(row: PourRow) -> Fraction | None:
    if (
        row.sealed_on is None
        or row.poured_on is None
        or RoughDay in (type(row.poured_on), type(row.sealed_on))
    ):
        return None
    return Fraction((row.sealed_on - row.poured_on).days)


def _fill(row: PourRow) -> Fraction | None:
    """What came in as a multiple of the slab's measured volume; None for one truck of several."""
    if row.yards is None or row.area_ft2 is None or row.depth is None or row.ticket is not None:
        return None
    came = row.yards + (row.balance_yards or 0) - (row.returned or 0) - (row.dumped or 0)
    return came / (row.area_ft2 * row.depth / 324 + (row.edge_yd3 or 0))


def total_dose(row: PourRow) -> Fraction | None:
    """All pigments together in lb/yd3; None where one of them is unknown."""
    doses = [_dose(pigment, row) for pigment in pour_rows.pigments(row)]
    known = [dose for dose in doses if dose is not None]
    return sum(known, Fraction(0)) if known and len(known) == len(doses) else None


def _dose(pigment: pour_rows.Pigment, row: PourRow) -> Fraction | None:
    if pigment.weighed_lb is not None and row.yards:
        return pigment.weighed_lb / row.yards
    if pigment.dose is None:
        return None
    return pour_rows.dose_lb_per_yd3(pigment.dose, pour_rows.cementitious(row))
