"""Reads an export folder, or refuses it in one clear line."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from finishlog.errors import InputError
from finishlog.store.archive import csv_text
from finishlog.store.archive.csv_text import Row
from finishlog.store.schema import revisions

JSON_NAME = "finishlog.json"
FORMAT = "finishlog export"
_VALUES = frozenset((str, int, float, type(None)))
"""No truth values: a log has none."""


@dataclass(frozen=True, slots=True)
class Export:
    """The JSON of an export: schema revision; columns and rows by table."""

    folder: Path
    schema: str
    tables: dict[str, tuple[tuple[str, ...], list[Row]]]

    def bad(self, cause: str) -> InputError:
        """The refusal of an export that is damaged."""
        return bad(self.folder, cause)


def read(folder: Path) -> Export:
    """Read an export. Raises InputError if it is none, damaged, or of a newer program."""
    said = _json(folder)
    if not isinstance(said, dict) or said.get("format") != FORMAT:
        raise bad(folder, f"{JSON_NAME} belongs to another program.")
    schema = said.get("schema")
    if schema not in revisions.known():
        cause = f"Its schema is {str(schema)[:20]}, the newest this program knows is {revisions.head()}."
        raise InputError("The export is newer than this program.", f"{cause} Install the newer finishlog.")
    tables = said.get("tables")
    if not isinstance(tables, dict):
        raise bad(folder, f"{JSON_NAME} holds no tables.")
    return Export(folder, schema, {name: _table(folder, name, table) for name, table in tables.items()})


def _json(folder: Path) -> Any:
    path = folder / JSON_NAME
    try:
        if not path.is_file():  # a named pipe would hang
            raise bad(folder, f"It has no {JSON_NAME}.")
        return json.loads(path.read_bytes().decode("utf-8"), parse_constant=_no_number)
    except OSError as error:
        raise bad(folder, f"{error.strerror}.") from None
    except RecursionError:
        raise bad(folder, f"{JSON_NAME} is damaged.") from None
    except ValueError as error:  # JSONDecodeError and UnicodeDecodeError are such
        raise bad(folder, f"{JSON_NAME} is damaged: {str(error)[:100]}.") from None


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number")


def _table(folder: Path, name: str, table: Any) -> tuple[tuple[str, ...], list[Row]]:
    if not isinstance(table, dict):
        raise bad(folder, f"{name[:40]} is not a table.")
    columns, rows = table.get("columns"), table.get("rows")
    if not isinstance(columns, list) or not isinstance(rows, list):
        raise bad(folder, f"{name[:40]} has no columns or no rows.")
    for number, row in enumerate(rows, 1):
        if not (isinstance(row, list) and len(row) == len(columns) and _are_values(row)):
            raise bad(folder, f"Row {number} of {name[:40]} is no row of its columns.")
    return tuple(columns), rows


def _are_values(row: list[object]) -> bool:
    if not set(map(type, row)) <= _VALUES:
        return False
    text = "".join([value for value in row if isinstance(value, str)])
    return text.isascii() or not any("\ud800" <= mark <= "\udfff" for mark in text)


def differing(path: Path, columns: Sequence[str], kinds: Sequence[type], rows: Sequence[Row]) -> bool:
    """Whether a CSV beside the JSON differs. A missing one does not."""
    if not path.is_file():
        return False
    try:
        header, found = csv_text.read(path.read_bytes().decode("utf-8-sig"), kinds)
    except (OSError, ValueError, csv.Error):
        return True
    return header != list(columns) or found != [tuple(row) for row in rows]


def bad(folder: Path, cause: str) -> InputError:
    """The refusal of a folder that is no export, or a damaged one."""
    return InputError(
        f"This is not a finishlog export, or it is damaged: {folder}.",
        f"{cause} Nothing was made.",
        example="the folder that finishlog export made",
    )
