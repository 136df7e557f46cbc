"""A foreign sheet: columns guessed and mapped, rows read, remarks on both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from finishlog.desk.paper_log import guess as import_guess
from finishlog.desk.paper_log import reading
from finishlog.desk.paper_log.reading import Sheet
from finishlog.errors import InputError
from finishlog.inputs import fields
from finishlog.inputs.paper_log import cells as paper_cells
from finishlog.inputs.paper_log import day_columns, sheet
from finishlog.inputs.paper_log.mapping import ColumnMap
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.records.exchange import ColumnGuess, ImportReport, Proposal

COLUMNS = fields.columns(PourRow)
SAMPLES = 50
"""Rows that a guess looks at."""
_WHO = ("customer", "job", "street")


@dataclass(frozen=True, slots=True)
class Found:
    """A sheet as it was read: `names` is the whole mapping, told and guessed, to be kept for next time."""

    sheet: Sheet
    names: ColumnMap
    guesses: tuple[ColumnGuess, ...]
    questions: tuple[str, ...]


def propose(
    text: str, headers: Sequence[str], today: date, asked: ColumnMap, before: ColumnMap
) -> tuple[Proposal, Sequence[str], list[reading.Raw | sheet.BadLine]]:
    """What each column is taken for, by a few rows; the columns as they are read, and all rows."""
    headers, rows = _joined(headers, list(sheet.read_lines(text, COLUMNS)), today, asked.over(before))
    width = len(headers)
    samples = [
        (*cells, *[""] * (width - len(cells)))
        for _, cells in reading.raw_rows(rows)
        if len(cells) <= width and (width < 3 or sum(map(bool, cells)) > 1)
    ]
    proposal = import_guess.propose(headers, samples[:SAMPLES], asked, ("poured_on",), today, before)
    table = reading.slots(headers, proposal.guesses)
    order, asked_days = reading.orders(table, list(reading.raw_rows(rows)), asked.over(before), today)
    guesses = tuple(_with_order(guess, order, asked_days) for guess in proposal.guesses)
    return replace(proposal, guesses=guesses), headers, rows


def _joined(
    headers: Sequence[str], rows: list[reading.Raw | sheet.BadLine], today: date, names: ColumnMap
) -> tuple[Sequence[str], list[reading.Raw | sheet.BadLine]]:
    """The sheet with a date that stands in several columns in one."""
    raw = list(reading.raw_rows(rows))
    joined, cells = day_columns.join(
        headers, [cells for _, cells in raw], today, names.tells, has_day=import_guess.is_day_of_pour
    )
    told = iter(cells)
    return joined, [each if isinstance(each, sheet.BadLine) else (each[0], next(told)) for each in rows]


def _with_order(guess: ColumnGuess, order: Mapping[str, str], asked: Sequence[str]) -> ColumnGuess:
    if guess.column not in paper_cells.DAYS:
        return guess
    question = next((each for each in asked if each.startswith(f"{guess.header}: ")), "")
    return replace(guess, unit=None, dates=order.get(guess.column or "") or None, question=question)


def read(text: str, headers: Sequence[str], today: date, asked: ColumnMap, before: ColumnMap) -> Found:
    """The sheet's rows by what its columns are taken for. Raises InputError where it tells no pours."""
    proposal, headers, rows = propose(text, headers, today, asked, before)
    guesses = proposal.guesses
    _require_pours(guesses)
    table = reading.slots(headers, guesses)
    order = {guess.column: guess.dates or "" for guess in guesses if guess.column in paper_cells.DAYS}
    names = mapping_of(guesses).over(asked)
    reader = reading.Reader(table, names, {key: told for key, told in order.items() if key}, today)
    questions = tuple(guess.question for guess in guesses if guess.question)
    return Found(reader.read(rows), names, guesses, questions)


def _require_pours(guesses: Sequence[ColumnGuess]) -> None:
    columns = {guess.column for guess in guesses}
    named = ", ".join(f"“{guess.header}”" for guess in guesses if guess.column is None)
    others = f" Not understood: {named}." if named else ""
    if "poured_on" not in columns:
        title = f"No column gives the pour date.{others}"
        raise InputError(title, "--guess suggests what each may be.", example='--map poured_on="Date"')
    if not columns & set(_WHO):
        title = f"No column gives a customer or a job.{others}"
        raise InputError(title, "--guess suggests what each may be.", example='--map customer="Client"')


def mapping_of(guesses: Sequence[ColumnGuess]) -> ColumnMap:
    """The mapping that the guesses make, as a person would tell it."""
    taken = [guess for guess in guesses if guess.column]
    return ColumnMap(
        {guess.column: guess.header for guess in taken if guess.column},
        {guess.column: unit for guess in taken if guess.column and (unit := guess.unit or guess.dates)},
        tuple(guess.header for guess in guesses if guess.left_out),
        tuple(guess.header for guess in guesses if guess.column is None and not guess.left_out),
    )


def told(report: ImportReport, found: Found) -> ImportReport:
    """The report with what is said of the sheet's columns and cells."""
    sheet_ = found.sheet
    return replace(
        report,
        guesses=found.guesses,
        questions=found.questions,
        kept=tuple(sheet_.kept),
        left_aside=tuple(sheet_.left_aside),
        cells=sheet_.cells,
        copied=sheet_.copied,
    )


def tidied(cells: Mapping[str, str]) -> dict[str, str]:
    """The cells of a sheet of our own: none under a material is none, and numbers as the trade writes them."""
    found: dict[str, str] = {}
    nothing: list[str] = []
    for key, cell in cells.items():
        if key in paper_cells.MATERIALS and paper_cells.says_none(cell.strip()):
            nothing.append(key)
        else:
            found[key] = paper_cells.tidy(key, cell).text if cell.strip() else cell
    if "scm_kind" in nothing and not found.get("scm", "").strip():
        found["scm"] = "0"
    said = " · ".join(f"{key}: none" for key in nothing)
    if said:
        note = found.get("note", "").strip()
        found["note"] = f"{note} · {said}" if note else said
    return found
