"""Rows of a sheet that tell of one truck: one ticket in several areas on one day is one load with a map."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from finishlog.desk.paper_log import pour_facts, pour_loads
from finishlog.desk.paper_log.lines import JobKey, Line
from finishlog.desk.paper_log.pour_loads import Truck
from finishlog.records.exchange import Remark
from finishlog.store.schema.fold import key as fold
from finishlog.units import plain

_COLOR = ("base", "base_maker", "base_lot", "dose", "base_2", "base_2_maker", "base_2_lot", "dose_2")
Ticket = tuple[JobKey, date, str]


class Trucks:
    """Which truck stands behind which line; the first line of a shared one tells its load."""

    def __init__(self, lines: Iterable[Line]) -> None:
        self.bad: list[Remark] = []
        self.flagged: list[Remark] = []
        self._of_line: dict[int, Truck | None] = {}
        self._filled: dict[int, Line] = {}
        by_ticket: dict[Ticket, list[Line]] = {}
        for line in lines:
            if line.row.ticket is not None and line.row.poured_on is not None:
                by_ticket.setdefault((line.job, line.row.poured_on, fold(line.row.ticket)), []).append(line)
            else:
                self._take([line])
        for same in by_ticket.values():
            self._take(same)

    def of(self, line: Line) -> Truck | None:
        """The truck whose load this line tells; None where an earlier line tells it."""
        return self._of_line[line.line]

    def filled(self, line: Line) -> Line:
        """The line with the color of its truck, which may be told with another area."""
        return self._filled.get(line.line, line)

    def _take(self, same: Sequence[Line]) -> None:
        first, *rest = same
        truck = pour_loads.truck([line.row for line in same])
        self._of_line[first.line] = truck
        for line in rest:
            self._of_line[line.line] = None
            self.bad += _otherwise(first, line)
        if truck.areas:
            color = {column: getattr(truck.row, column) for column in _COLOR}
            self._filled |= {line.line: replace(line, row=line.row.model_copy(update=color)) for line in same}
            self.bad += _too_much(same[-1].line, truck)
        if rest:
            self.flagged.append(Remark(rest[-1].line, "ticket", _understood(first, truck)))


def _otherwise(first: Line, line: Line) -> Iterator[Remark]:
    """What a further row tells of the truck other than the first does."""
    for column in pour_loads.OF_THE_TRUCK:
        told = (getattr(first.row, column), getattr(line.row, column))
        if None not in told and pour_facts.differing_in(first.row, line.row, column):
            shown = pour_facts.shown(first.row, column)
            what = f"Line {first.line} has the same truck with {shown}; enter it once, or the same way."
            yield Remark(line.line, column, what)


def _too_much(line: int, truck: Truck) -> Iterator[Remark]:
    took = sum((yards for _, yards in truck.areas if yards is not None), Fraction(0))
    if truck.row.yards is not None and took > truck.row.yards:
        what = f"Its areas take {plain(took)} yd3, but the truck brought {plain(truck.row.yards)} yd3."
        yield Remark(line, "truck_yards", what)


def _understood(first: Line, truck: Truck) -> str:
    parts = ", ".join(f"{area} {'?' if yards is None else plain(yards)}" for area, yards in truck.areas)
    return f"The truck of line {first.line} too: counted as one load, in yd3 {parts}."
