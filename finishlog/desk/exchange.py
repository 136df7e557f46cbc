"""The paper log in: a sheet of pours read, checked line by line, and written in one go or not at all."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk import row_checks
from finishlog.desk.import_plan import Addition, Line, Planner
from finishlog.desk.newlog import whole_or_none
from finishlog.errors import InputError
from finishlog.inputs import fields, sheet
from finishlog.inputs.pour import PourRow
from finishlog.records.exchange import ImportReport, Remark

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Writer

COLUMNS = fields.columns(PourRow)
NEEDED = ("poured_on",)


def template() -> str:
    """An empty sheet: the help of each column in lines that begin with #, then the header."""
    width = max(len(column.key) for column in COLUMNS)
    lines = [
        "# One row per pour of one area. Needed: poured_on, and customer or job.",
        "# A blank is unknown. Columns may be left out or put in another order.",
        *(f"# {column.key:<{width}}  {column.help}. Like: {column.example}" for column in COLUMNS),
        ",".join(column.key for column in COLUMNS),
    ]
    return "\n".join(lines) + "\n"


def bring_in(services: Services, path: Path, *, check: bool = False, new: bool = False) -> ImportReport:
    """Read a sheet into the log; into a log made for it where `new`.

    With anything wrong in the sheet nothing is written, and the report names every bad line.
    Raises InputError where the file cannot be read as a sheet, LogError for the log.
    """
    plan = Planner(services.zone)
    lines = _read_lines(path, services.today(), plan)
    if new:
        plan.take(lines, None)
        return plan.report(written=False) if check or plan.bad else _into_new(services, plan)
    if check:
        with services.log().reading() as reader:
            plan.take(lines, reader)
        return plan.report(written=False)
    with services.log().writing() as writer:
        plan.take(lines, writer)
        if not plan.bad:
            _write(writer, plan.additions.values())
    return plan.report(written=not plan.bad)


def _into_new(services: Services, plan: Planner) -> ImportReport:
    log = services.make_log(None)
    with whole_or_none(log), log.writing() as writer:
        _write(writer, plan.additions.values())
    services.use(log)
    return plan.report(written=True)


def _write(writer: Writer, additions: Iterable[Addition]) -> None:
    for addition in additions:
        handle = addition.known.handle if addition.known else _add_job(writer, addition)
        for area in addition.areas:
            writer.add_area(handle, area)
        for item in addition.buried:
            writer.add_buried(handle, item)
        for entry in addition.entries:
            writer.add_entry(handle, entry)


def _add_job(writer: Writer, addition: Addition) -> str:
    assert addition.job
    return writer.add_job(addition.job).handle


def _read_lines(path: Path, today: date, plan: Planner) -> list[Line]:
    """The sheet's rows; what cannot be read, or cannot be so, is told to the plan."""
    lines: list[Line] = []
    try:
        for row in sheet.read_rows(sheet.read_text(path), COLUMNS, NEEDED):
            plan.rows += 1
            if isinstance(row, sheet.BadLine):
                plan.bad.append(Remark(row.line, "", row.what))
            elif (line := _read(row, today, plan)) is not None:
                lines.append(line)
    except InputError as wrong:
        raise wrong.at(
            f"{path.name}, {wrong.where}" if wrong.where.startswith("line") else str(path)
        ) from None
    return lines


def _read(row: sheet.Row, today: date, plan: Planner) -> Line | None:
    values, wrongs = fields.read(PourRow, row.cells)
    bad = [Remark(row.line, wrong.key, wrong.what, wrong.example) for wrong in wrongs]
    if values is not None:
        bad += row_checks.contradictions(row.line, values, today)
    plan.bad += bad
    return None if bad or values is None else Line(row.line, values)
