"""A row of a sheet in one line, as it was understood."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from finishlog.desk.paper_log import pour_rows
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.units import plain, shown, write, write_date

LONGEST_NAME = 30
FIRST = 5
"""How many rows are shown."""


def preview(row: PourRow, units: str = "us") -> str:
    """`Jun 16 2025 · Quillfeather, back patio · 6.75 yd³ · Wet Biscuit 7 lb/yd3 · rinsed after 36 h`."""
    return " · ".join(part for part in _parts(row, units) if part)


def _parts(row: PourRow, units: str) -> Iterator[str | None]:
    assert row.poured_on
    yield write_date(row.poured_on)
    yield ", ".join(_name(name) for name in (row.customer, row.job) if name)
    yield _name(row.street)
    yield _name(row.area or row.area_kind)
    yield _quantity("area_ft2", row.area_ft2, units)
    yield _quantity("depth_in", row.depth, units)
    yield _quantity("volume_yd3", row.yards, units)
    yield f"balance {_quantity('volume_yd3', row.balance_yards, units)}" if row.balance_yards else None
    yield f"ticket {_name(row.ticket)}" if row.ticket else None
    yield " + ".join(_pigment(pigment) for pigment in pour_rows.pigments(row))
    yield f"{_name(row.release)} release" if row.release else None
    yield _name(row.pattern)
    yield f"rinsed {write_date(row.rinsed_on)}" if row.rinsed_on else None
    yield f"rinsed after {plain(row.rinse_age)} h" if row.rinse_age is not None else None
    yield f"sealed {write_date(row.sealed_on)}" if row.sealed_on else None


def _name(name: str | None) -> str:
    return shown(name, LONGEST_NAME) if name else ""


def _quantity(what: str, value: Fraction | None, units: str) -> str | None:
    return None if value is None else write(what, value, units)


def _pigment(pigment: pour_rows.Pigment) -> str:
    dose = f" {plain(pigment.dose.value)} {pigment.dose.unit}" if pigment.dose else ""
    weighed = f", {plain(pigment.weighed_lb)} lb weighed" if pigment.weighed_lb is not None else ""
    return f"{_name(pigment.name)}{dose}{weighed}"
