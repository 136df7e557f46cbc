"""A sheet column by column for review before import, with each guess and its correction."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from finishlog.desk.exchange import exchange
from finishlog.desk.paper_log import foreign
from finishlog.inputs import fields
from finishlog.inputs.paper_log import cells, days, mapping
from finishlog.inputs.paper_log.mapping import DATE_ORDERS, NO_MAPPING, ColumnMap, header_key
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.records.exchange import ColumnGuess
from finishlog.units import write_date

if TYPE_CHECKING:
    from finishlog.desk.services import Services

NOTE, LEAVE = "note", "leave"
UNITS = ("lb/yd3", "lb/sack", "%")
"""What bare numbers of a dose may be."""
WHO = ("customer", "job", "street")


@dataclass(frozen=True, slots=True)
class Table:
    """`told` is what the person said so far, over what the log remembered. A sheet of entries has no guesses."""

    path: Path
    guesses: tuple[ColumnGuess, ...] = ()
    told: ColumnMap = NO_MAPPING
    remembered: bool = False
    today: date = date.min

    @property
    def titles(self) -> dict[str, tuple[str, str]]:
        """Title and help of our columns by key."""
        return {column.key: (column.title, column.help) for column in exchange.COLUMNS}

    @property
    def open(self) -> tuple[ColumnGuess, ...]:
        """The columns that ask something."""
        return tuple(guess for guess in self.guesses if is_open(guess))

    @property
    def missing(self) -> str:
        """What must be said before the sheet can come in; "" where nothing must."""
        columns = {guess.column for guess in self.guesses if not guess.left_out}
        if not self.guesses:
            return ""
        if "poured_on" not in columns:
            return "No column gives the pour date yet."
        return "" if columns & set(WHO) else "No column gives a customer or a job yet."


class Choice(NamedTuple):
    """Something that a column may be: `value` is for `choose`."""

    value: str
    title: str
    help: str


def look(services: Services, path: Path, told: ColumnMap = NO_MAPPING) -> Table:
    """Every column of a sheet with what it is taken for. Raises InputError for a file that is no sheet."""
    if exchange.is_of_entries(path):
        return Table(path)
    proposal = exchange.propose(path, told, services if services.has_log() else None)
    remembered = any(guess.why == "same as last time" for guess in proposal.guesses)
    return Table(path, proposal.guesses, told, remembered, services.today())


def mapping_of(table: Table) -> ColumnMap:
    """All that the table shows, said: nothing is left to be guessed when the sheet comes in.

    Where every column is our own, nothing is said: such a sheet is read by the letter.
    """
    if not table.told and all(guess.why == "our own word" for guess in table.guesses):
        return NO_MAPPING
    return replace(foreign.mapping_of(table.guesses), dates=table.told.dates)


def is_open(guess: ColumnGuess) -> bool:
    """Whether it must be looked at: it asks something, or is kept as a note for want of a better guess."""
    return bool(guess.question) or (guess.column is None and 0 < guess.sure < 1)


def choices(guess: ColumnGuess, today: date) -> tuple[Choice, ...]:
    """What a column may be: what settles its question, the likely ones, note and out, then all of ours."""
    columns = {column.key: column for column in exchange.COLUMNS}
    likely = [key for key in (guess.column, *guess.others) if key in columns]
    rest = [key for key in columns if key not in likely]

    def fields_of(keys: Iterable[str]) -> list[Choice]:
        return [Choice(f"={key}", columns[key].title, columns[key].help) for key in keys]

    return (
        *(_answers(guess, today) if guess.question else ()),
        *fields_of(likely),
        Choice(NOTE, "Keep as a note", "its cells go on the job as a note, under its header"),
        Choice(LEAVE, "Leave out", "none of it comes in"),
        *fields_of(rest),
    )


def _answers(guess: ColumnGuess, today: date) -> list[Choice]:
    """What may be said to the question of a column: the order of its days, or the unit of bare numbers."""
    key = guess.column
    if key is None or not guess.samples:
        return []
    if key in cells.DAYS:
        cell = next((one for one in guess.samples if one in guess.question), guess.samples[0])
        cell = next(iter(re.findall(r": (.+?) can be read", guess.question)), cell)
        return [
            Choice(f"dates:{order}", f"{cell} is {write_date(day)}", f"{words}, in the whole file")
            for order, words in zip(DATE_ORDERS, ("month first", "day first", "year first"), strict=True)
            if (day := days.read(cell, today, order)) and order in _orders(cell, today)
        ]
    return [
        Choice(f"unit:{unit}", f"{guess.samples[0]} is {guess.samples[0]} {unit}", "in the whole column")
        for unit in UNITS
        if _reads(key, f"1 {unit}")
    ]


def _reads(key: str, text: str) -> object:
    values, _ = fields.read(PourRow, {key: text})
    return None if values is None else getattr(values, key)


def _orders(cell: str, today: date) -> set[str]:
    return {order for orders in days.readings(cell, today).values() for order in orders}


def choose(told: ColumnMap, guess: ColumnGuess, value: str) -> ColumnMap:
    """What is told of the sheet once this was chosen for a column."""
    if value.startswith("dates:"):
        return replace(told, dates=value.removeprefix("dates:"))
    bare = _without(told, guess.header)
    if value == NOTE:
        return replace(bare, noted=(*bare.noted, guess.header))
    if value == LEAVE:
        return replace(bare, ignored=(*bare.ignored, guess.header))
    if value.startswith("unit:") and guess.column:
        unit = mapping.need_unit(guess.column, value.removeprefix("unit:"), PourRow)
        return replace(
            bare,
            headers={**bare.headers, guess.column: guess.header},
            units={**bare.units, guess.column: unit},
        )
    return replace(bare, headers={**bare.headers, value.removeprefix("="): guess.header})


def _without(told: ColumnMap, header: str) -> ColumnMap:
    def others(names: Sequence[str]) -> tuple[str, ...]:
        return tuple(name for name in names if header_key(name) != header_key(header))

    headers = {key: name for key, name in told.headers.items() if header_key(name) != header_key(header)}
    units = {key: unit for key, unit in told.units.items() if key in headers or key not in told.headers}
    return replace(told, headers=headers, units=units, ignored=others(told.ignored), noted=others(told.noted))
