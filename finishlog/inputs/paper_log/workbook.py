"""An .xlsx workbook as CSV text: its first non-empty sheet, merged cells filled.

Needs the extra `xlsx`; without it, save the sheet as CSV.
"""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime, time
from typing import Any

from finishlog.errors import InputError

LARGEST_UNPACKED = 200_000_000
MOST_ROWS, MOST_COLUMNS = 100_000, 300


def as_csv(data: bytes, name: str) -> str:
    """The sheet as CSV, line by line. Raises InputError if it is no workbook."""
    try:
        import openpyxl
    except ImportError:
        raise InputError(
            "Reading a workbook needs an extra that is not installed.",
            "Install finishlog[xlsx], or save the sheet as CSV.",
            where=name,
        ) from None
    _require_size(data, name)
    try:
        book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    except Exception:  # whatever the reader of a damaged file raises
        raise InputError("This workbook cannot be read.", where=name, example="pours.csv") from None
    sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible" and sheet.max_row > 1]
    if not sheets:
        raise InputError("The workbook has no rows.", where=name, example="pours.csv")
    return _text(sheets[0], name)


def _require_size(data: bytes, name: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            size = sum(each.file_size for each in packed.infolist())
    except zipfile.BadZipFile:
        raise InputError("This workbook cannot be read.", where=name, example="pours.csv") from None
    if size > LARGEST_UNPACKED:
        raise InputError("The workbook is too large.", "Save the sheet as CSV.", where=name)


def _text(sheet: Any, name: str) -> str:
    if sheet.max_row > MOST_ROWS or sheet.max_column > MOST_COLUMNS:
        raise InputError("The workbook is too large.", "Save the sheet as CSV.", where=name)
    merged = {
        (row, column): (span.min_row, span.min_col)
        for span in sheet.merged_cells.ranges
        if span.min_row != span.max_row
        for row in range(span.min_row, span.max_row + 1)
        for column in range(span.min_col, span.max_col + 1)
    }
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in range(1, sheet.max_row + 1):
        places = (merged.get((row, column), (row, column)) for column in range(1, sheet.max_column + 1))
        writer.writerow([_written(sheet.cell(*place).value) for place in places])
    return out.getvalue()


def _written(value: object) -> str:
    """A cell's value as a person would type it."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, float) and value == int(value):
        return str(int(value))
    if isinstance(value, float):
        return f"{value:.10g}"
    return " ".join(str(value).split("\n"))
