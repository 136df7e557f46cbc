"""Imports a paper log: a sheet of pours, checked line by line and written all or nothing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from copy import deepcopy
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from finishlog.desk.exchange import entries, memory, write
from finishlog.desk.exchange.plan import Planner
from finishlog.desk.exchange.write import Keep, Progress
from finishlog.desk.paper_log import foreign, preview, row_checks
from finishlog.desk.paper_log.lines import Line
from finishlog.errors import InputError, LogError
from finishlog.inputs import fields
from finishlog.inputs.entry import sheet_of_entries
from finishlog.inputs.paper_log import day_columns, mapping, sheet
from finishlog.inputs.paper_log.mapping import NO_MAPPING, ColumnMap
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.plain import visible
from finishlog.records.exchange import ImportReport, Proposal, Remark
from finishlog.retrying import anew
from finishlog.store.disk.held import is_held

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Log

COLUMNS = fields.columns(PourRow)
NEEDED = ("poured_on",)
Answer = TypeVar("Answer")


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


def bring_in(
    services: Services,
    path: Path,
    *,
    check: bool = False,
    new: bool = False,
    asked: ColumnMap = NO_MAPPING,
    fresh: bool = False,
    units: str = "us",
    progress: Progress | None = None,
) -> ImportReport:
    """Read a sheet into the log; into a log made for it where `new`.

    `asked` says which columns of a foreign sheet are ours; the log remembers it for sheets with the same
    headers, and what it remembers is used where not `fresh`. What nobody said is guessed where it is sure, and
    kept with the rest. With anything wrong in the sheet, or a question open, nothing is written, and the report
    names every bad line. `progress` is told how many pours of how many are written.
    Raises InputError where the file cannot be read as a sheet, LogError for the log.
    """
    text = _text_of(path)
    headers = _said_of(path, lambda: sheet.read_header(text, (*COLUMNS, *sheet_of_entries.OF_THE_ROW)))
    if sheet_of_entries.is_one(headers):
        _refuse_mapping(asked, path)
        return _said_of(
            path,
            lambda: entries.bring_in(services, text, check=check, new=new, progress=progress),
        )
    mapping.require_headers(asked, (*headers, *day_columns.names_of(headers)))
    before = NO_MAPPING if new or fresh else memory.recall(services, headers)
    names = asked.over(before)
    plan = Planner(services.zone)
    if is_ours(headers, names):
        lines = _said_of(path, lambda: _read_lines(text, services.today(), plan, names))
        found = None
    else:
        found = _said_of(path, lambda: foreign.read(text, headers, services.today(), names, before))
        lines, names = found.sheet.lines, found.names
        plan.take_sheet(found.sheet)
    keep = None if names == before else (mapping.setting_key(headers), names.to_json())
    check = check or bool(found and found.questions)
    plan, written = _said_of(
        path, lambda: _take(services, plan, lines, check=check, new=new, keep=keep, progress=progress)
    )
    shown = tuple(preview.preview(line.row, units) for line in lines[: preview.FIRST])
    report = replace(
        plan.report(written=written),
        preview=shown if check else (),
        columns=tuple(names.headers.items()),
        remembered=bool(before),
    )
    return report if found is None else foreign.told(report, found)


def is_ours(headers: Sequence[str], names: ColumnMap = NO_MAPPING) -> bool:
    """Whether a sheet has our own columns alone: it is read by the letter, as its help says."""
    ours = {mapping.header_key(name) for column in COLUMNS for name in (column.title, column.key)} | {""}
    told = bool(names.headers or names.ignored or names.noted)
    return not told and all(mapping.header_key(header) in ours for header in headers)


def _refuse_mapping(asked: ColumnMap, path: Path) -> None:
    if asked:
        cause = "Its columns are ours; nothing to map."
        raise InputError("This is an entry sheet.", cause, where=str(path), example="import entries.csv")


def propose(
    path: Path, asked: ColumnMap = NO_MAPPING, services: Services | None = None, *, fresh: bool = False
) -> Proposal:
    """What each column of a foreign sheet is taken for. Nothing is read in or kept.

    With `services`, what the log remembers of such a sheet is taken too, where not `fresh`.
    """
    text = _text_of(path)
    headers = _said_of(path, lambda: sheet.read_header(text, COLUMNS))
    mapping.require_headers(asked, (*headers, *day_columns.names_of(headers)))
    before, today = NO_MAPPING, date.max
    if services is not None:
        today = services.today()
        with suppress(LogError):  # a sheet may be looked at where there is no log yet
            before = before if fresh else memory.recall(services, headers)
    return foreign.propose(text, headers, today, asked, before)[0]


def forget(services: Services, path: Path | None) -> int:
    """Forget how a sheet's columns were mapped, or every sheet's; how many mappings that were."""
    if path is None:
        return memory.forget(services, None)
    text = _text_of(path)
    return memory.forget(services, _said_of(path, lambda: sheet.read_header(text, COLUMNS)))


def is_of_entries(path: Path) -> bool:
    """Whether a sheet has one row per entry: its columns are ours. Raises InputError if it is no sheet."""
    text = _text_of(path)
    columns = (*COLUMNS, *sheet_of_entries.OF_THE_ROW)
    return sheet_of_entries.is_one(_said_of(path, lambda: sheet.read_header(text, columns)))


def _take(
    services: Services,
    plan: Planner,
    lines: Sequence[Line],
    *,
    check: bool,
    new: bool,
    keep: Keep,
    progress: Progress | None,
) -> tuple[Planner, bool]:
    """Sort the lines, and write them where that was asked and nothing is wrong. The plan; whether it was written."""
    if new:
        plan.take(lines, None)
        plan.take_undated()
        if not check and not plan.bad:
            _into_new(services, plan, keep, progress)
        return plan, not check and not plan.bad
    if check:
        with services.log().reading() as reader:
            plan.take(lines, reader)
            plan.take_undated()
        return plan, False
    plan = _write(services, plan, lines, keep, progress)
    return plan, not plan.bad


@anew
def _write(
    services: Services, begun: Planner, lines: Sequence[Line], keep: Keep, progress: Progress | None
) -> Planner:
    """Sort and write in one unit of work; each try begins with the plan as it was."""
    plan = deepcopy(begun)
    with services.log().writing() as writer:
        plan.take(lines, writer)
        plan.take_undated()
        if not plan.bad:
            plan.joined = write.write(writer, plan.additions.values(), services.now(), keep, progress)
    return plan


def _into_new(services: Services, plan: Planner, keep: Keep, progress: Progress | None) -> None:
    def fill(log: Log) -> None:
        with log.writing() as writer:
            plan.joined = write.write(writer, plan.additions.values(), services.now(), keep, progress)

    services.use(services.make_log(None, fill))


def _text_of(path: Path) -> str:
    if is_held(path):  # closing it again would give up the locks of the open log
        raise InputError("This is the log itself.", where=visible(path), example="pours.csv")
    return _said_of(path, lambda: sheet.read_text(path))


def _said_of(path: Path, read: Callable[[], Answer]) -> Answer:
    """What reading the sheet answers; what is wrong with it is said of its name and line."""
    try:
        return read()
    except InputError as wrong:
        line = wrong.where.startswith("line")
        raise wrong.at(f"{path.name}, {wrong.where}" if line else str(path)) from None


def _read_lines(text: str, today: date, plan: Planner, names: ColumnMap) -> list[Line]:
    """The sheet's rows; what cannot be read, or cannot be so, is told to the plan."""
    lines: list[Line] = []
    for row in sheet.read_rows(text, COLUMNS, NEEDED, names):
        plan.rows += 1
        if isinstance(row, sheet.BadLine):
            plan.bad.append(Remark(row.line, "", row.what))
        elif (line := _read(row, today, plan)) is not None:
            lines.append(line)
    return lines


def _read(row: sheet.Row, today: date, plan: Planner) -> Line | None:
    values, wrongs = fields.read(PourRow, foreign.tidied(row.cells))
    bad = [Remark(row.line, wrong.key, wrong.what, wrong.example) for wrong in wrongs]
    if values is not None:
        bad += row_checks.contradictions(row.line, values, today)
    plan.bad += bad
    return None if bad or values is None else Line(row.line, values)
