"""Colors by age: an area's dry, bare readings as swatches, showing how a slab changes."""

from __future__ import annotations

from dataclasses import dataclass

from finishlog.desk import words
from finishlog.papers.layout import style
from finishlog.papers.layout.frame import Cell, Frame
from finishlog.papers.layout.look import color_of, name_of
from finishlog.records.log import Job, Reading
from finishlog.records.placed import AsPlaced, dry_bare
from finishlog.records.when import has_hours, zone_of
from finishlog.units import exact, fixed

ACROSS = 7
"""Swatches per row, large enough for names below."""


@dataclass(frozen=True, slots=True)
class Aged:
    """A reading with its slab's age: hours if both times are known, else whole days."""

    reading: Reading
    hours: float

    @property
    def day(self) -> str:
        """For the customer: `day 1`; hours are the shop's."""
        days = round(self.hours / 24)
        return f"day {days}" if days else "fresh"

    @property
    def age(self) -> str:
        """The age in words: hours under three days, then days."""
        return words.hours(self.hours) if self.hours < 72 else f"day {self.hours / 24:.0f}"


def by_age(job: Job, placed: AsPlaced, spot: str) -> list[Aged]:
    """Dry, bare readings of an area's spot, youngest first; none if the pour day is unknown."""
    if placed.poured_on is None:
        return []
    zone = zone_of(job)
    found = []
    for entry, seen in dry_bare(job, spot, placed.area.uid):
        if placed.poured_end is not None and has_hours(entry.exactness):
            hours = (entry.happened - placed.poured_end).total_seconds() / 3600
        else:
            hours = 24.0 * (entry.happened.astimezone(zone).date() - placed.poured_on).days
        if hours >= 0:
            found.append(Aged(seen, hours))
    return sorted(found, key=lambda aged: aged.hours)


def grid(frame: Frame, aged: list[Aged]) -> None:
    """Swatch, age, L* a* b* and plain name of each reading, some in a row."""
    for at in range(0, len(aged), ACROSS):
        frame.need(20 + 5.2 * style.SMALL.lead)
        columns = frame.split(ACROSS, gap=6)
        for column, one in zip(columns, aged[at : at + ACROSS], strict=False):
            column.swatch(column.x, column.y, column.width, 18, color_of(one.reading))
            column.skip(19)
            column.row((Cell(one.age, type=style.SMALL_STRONG),))
            column.row((Cell(_lab(one.reading), type=style.LABEL),))
            column.row((Cell(name_of(one.reading), type=style.SMALL),))
        frame.join(columns)
        frame.skip(3)


def _lab(reading: Reading) -> str:
    return " ".join(fixed(exact(value), 1) for value in (reading.L, reading.a, reading.b))


def strip(frame: Frame, aged: list[Aged], height: float = 26.0) -> None:
    """The readings as one slab growing lighter: no gaps, days under it, plain names at both ends."""
    frame.need(height + 2 * style.SMALL.lead)
    width = frame.width / len(aged)
    for at, one in enumerate(aged):
        frame.fill(frame.x + at * width, frame.y, width, height, color_of(one.reading))
    frame.outline(frame.x, frame.y, frame.width, height)
    frame.skip(height + 1)
    frame.row([Cell(one.day, width, style.LABEL, "center") for one in aged], gap=0)
    ends = [Cell(f"first {name_of(aged[0].reading)}", type=style.SMALL)]
    ends.append(Cell(f"last {name_of(aged[-1].reading)}", type=style.SMALL, align="right"))
    frame.row(ends)


def thinned(aged: list[Aged], most: int) -> list[Aged]:
    """At most so many readings: first, last, and evenly spread ones between."""
    if len(aged) <= most:
        return aged
    return [aged[round(at * (len(aged) - 1) / (most - 1))] for at in range(most)]
