"""A CSV file, opened safely and split into rows of text; errors name their line.

Reading strips exactly one leading `'`, which `shield` adds before text that a spreadsheet would
run as a formula. The two are inverse for every text.
"""

from __future__ import annotations

import codecs
import csv
import difflib
import errno
import io
import os
import re
import stat
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Protocol

from finishlog.errors import InputError
from finishlog.inputs.asking import Field
from finishlog.inputs.paper_log import column_names, header_groups
from finishlog.inputs.paper_log.mapping import NO_MAPPING, ColumnMap, header_key
from finishlog.plain import visible
from finishlog.units import shown

LARGEST_FILE = 50_000_000
LARGEST_CELL = 1_000_000
MOST_COLUMNS = 1000
_FORMULA = tuple("=+-@\t\r'")
_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_WORKBOOK = b"PK\x03\x04"
_DELIMITERS = ",;\t|"
_TITLES = 15
"""Lines within which a header must occur; a title may precede it."""
_NUMBERED = re.compile(r'"?# ?(?:no\.?)?"?\s*[,;\t|]', re.IGNORECASE)
_RULE = re.compile(r"[-=:+]{3,}")
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$")
_MAPPING_HELP = (
    "finishlog import --template lists the columns; --map matches yours to ours, --guess proposes it, "
    "--ignore leaves one out."
)
_EXAMPLE = "a file saved as “CSV UTF-8”"


@dataclass(frozen=True, slots=True)
class Row:
    """The cells of one line by column key, blank ones too. `line` is where the row begins in the file."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class BadLine:
    """A line that cannot be split into cells."""

    line: int
    what: str


class _Reader(Protocol):
    """The part of `csv.reader` we use, with its line number."""

    line_num: int

    def __next__(self) -> list[str]: ...


def shield(text: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def unshield(cell: str) -> str:
    """The inverse of `shield`; any other cell unchanged."""
    return cell[1:] if cell[:1] == "'" and cell[1:].startswith(_FORMULA) else cell


def read_text(path: Path) -> str:
    """The text of a sheet: UTF-8, UTF-16 or, as Excel saves it, Windows-1252; a workbook's first sheet as CSV.

    Raises InputError for any other file; never blocks on a pipe.
    """
    name = visible(path)
    data = _read_bytes(path, name)
    if not data:
        raise InputError(f"{name} is empty.", where=name, example="the file that --template writes")
    if data.startswith(_WORKBOOK):
        from finishlog.inputs.paper_log import workbook

        return workbook.as_csv(data, name)
    if data.startswith(_UTF16):
        return _decoded(data, "utf-16", name)
    line = data.count(b"\n", 0, data.find(b"\0")) + 1
    if b"\0" in data:
        raise InputError(
            f"Line {line} holds a NUL character: this is not a CSV file.", where=name, example=_EXAMPLE
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        return _decoded(data, "cp1252", name, data.count(b"\n", 0, wrong.start) + 1)


def _decoded(data: bytes, encoding: str, name: str, line: int = 1) -> str:
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as wrong:
        line = max(line, data.count(b"\n", 0, wrong.start) + 1)
        raise InputError(f"Line {line} is not text.", where=name, example=_EXAMPLE) from None
    if "\0" in text:
        raise InputError("It holds a NUL character: this is not a CSV file.", where=name, example=_EXAMPLE)
    return text


def _read_bytes(path: Path, name: str) -> bytes:
    flags = (
        os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
    )
    try:
        file = os.open(path, flags)
    except (OSError, ValueError) as failure:
        raise InputError(_no_open(failure), where=name, example="pours.csv") from None
    try:
        _require_ordinary(os.fstat(file), name)
    except InputError:
        os.close(file)
        raise
    try:
        with os.fdopen(file, "rb") as opened:
            return opened.read(LARGEST_FILE + 1)
    except OSError as failure:  # a failing disk, an unreadable system file
        raise InputError(_no_open(failure), where=name, example="pours.csv") from None


def _require_ordinary(found: os.stat_result, name: str) -> None:
    if stat.S_ISDIR(found.st_mode):
        raise InputError("This is a folder, not a file.", where=name, example="pours.csv")
    if not stat.S_ISREG(found.st_mode):
        raise InputError("This is no ordinary file.", where=name, example="pours.csv")
    if found.st_size > LARGEST_FILE:
        size = f"The file has {found.st_size / 1e6:,.0f} MB; {LARGEST_FILE // 1_000_000} MB at most."
        raise InputError(size, "Split it into several.", where=name)


def _no_open(failure: Exception) -> str:
    if isinstance(failure, FileNotFoundError):
        return "No such file."
    if isinstance(failure, IsADirectoryError):
        return "This is a folder, not a file."
    if isinstance(failure, OSError) and failure.errno == errno.ELOOP:
        return "This link points to itself."
    return f"The file cannot be opened: {getattr(failure, 'strerror', None) or failure}."


def read_rows(
    text: str, columns: Sequence[Field], needed: Sequence[str], names: ColumnMap = NO_MAPPING
) -> Iterator[Row | BadLine]:
    """The rows under the header. Lines that begin with # above the header are help and are skipped.

    `names` says which of a foreign sheet's columns are ours. A header that cannot be used raises InputError;
    a row that cannot be cut is a BadLine.
    """
    reader, offset = _reader(text, columns, names)
    limit = csv.field_size_limit(LARGEST_CELL)
    try:
        yield from _cut(reader, offset, columns, needed, names)
    finally:
        csv.field_size_limit(limit)


def read_header(text: str, columns: Sequence[Field]) -> tuple[str, ...]:
    """The sheet's own headers as written. Raises InputError if there is none."""
    header = next(_texts(text, columns))
    start, _, delimiter = _begin(text, columns, NO_MAPPING)
    groups = header_groups.above(text[:start], delimiter)
    return header_groups.told_apart(header, groups, columns, _known(columns, NO_MAPPING))


def _texts(text: str, columns: Sequence[Field]) -> Iterator[tuple[str, ...]]:
    """The header, then rows; stops at the first that cannot be split."""
    reader, offset = _reader(text, columns, NO_MAPPING)
    limit = csv.field_size_limit(LARGEST_CELL)
    rows = 0
    try:
        while True:
            cells = next(reader, None)
            if cells is None:
                break
            if any(cell.strip() for cell in cells):
                yield tuple(unshield(cell) for cell in cells)
                rows += 1
    except csv.Error as wrong:
        if not rows:
            raise InputError(_csv_words(wrong), where=f"line {offset + 1}") from None
    finally:
        csv.field_size_limit(limit)
    if not rows:
        raise _no_header()


def read_lines(text: str, columns: Sequence[Field]) -> Iterator[tuple[int, list[str]] | BadLine]:
    """Every non-empty line under the header with its number, split into cells as written."""
    reader, offset = _reader(text, columns, NO_MAPPING)
    limit = csv.field_size_limit(LARGEST_CELL)
    seen, line = False, offset + 1
    try:
        while True:
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error as wrong:
                yield BadLine(line, _csv_words(wrong))
                if "end of data" in str(wrong):
                    return
                cells = []
            if any(cell.strip() for cell in cells):
                if seen and not _is_ruled(cells):
                    yield line, [unshield(cell) for cell in cells]
                seen = True
            line = offset + reader.line_num + 1
    finally:
        csv.field_size_limit(limit)


def _reader(text: str, columns: Sequence[Field], names: ColumnMap) -> tuple[_Reader, int]:
    start, offset, delimiter = _begin(text, columns, names)
    return csv.reader(io.StringIO(text[start:], newline=""), delimiter=delimiter, strict=True), offset


def _is_ruled(cells: Sequence[str]) -> bool:
    """Whether a line only rules off the header, as a table in plain text does."""
    return all(_RULE.fullmatch(cell.strip()) for cell in cells if cell.strip())


def _begin(text: str, columns: Sequence[Field], names: ColumnMap) -> tuple[int, int, str]:
    """Where the header begins, the lines before it, and the separator."""
    known = _known(columns, names)
    start, lines, delimiter = _after_title(text, *_after_help(text, known), known)
    header = text[start:].split("\n", 1)[0].rstrip(f" \r{delimiter}")
    if (cells := header.count(delimiter) + 1) > MOST_COLUMNS:
        raise InputError(
            f"This line has {cells:,} cells; {MOST_COLUMNS:,} at most.",
            where=f"line {lines + 1}",
            example=_EXAMPLE,
        )
    return start, lines, delimiter


def _after_help(text: str, known: frozenset[str]) -> tuple[int, int]:
    """Where the header begins: the position, and the number of lines before it.

    A header may begin with # too, the number of a row: that is all of its first cell.
    """
    position = lines = 0
    for line in _LINE.finditer(text):
        told = line[0].strip("\r\n\ufeff ")
        if told and not told.lstrip(' "').startswith("#"):
            break
        if _NUMBERED.match(told) and max(_fits(told, each, known)[0] for each in _DELIMITERS) > 1:
            break
        position = line.end()
        lines += 1
    return position, lines


def _known(columns: Sequence[Field], names: ColumnMap) -> frozenset[str]:
    """Every name that a header may have, as `column_names.plain` has it."""
    ours = (name for column in columns for name in column_names.names(column))
    told = (*names.headers.values(), *names.ignored, *names.noted)
    return frozenset(column_names.plain(name) for name in (*ours, *told)) - {""}


def _after_title(text: str, position: int, lines: int, known: frozenset[str]) -> tuple[int, int, str]:
    """Where the header begins, below a title and Excel's `sep=`, the lines before it, and its separator.

    The header is the line with the most names of columns; the first where no line has two.
    """
    found: list[tuple[int, int, int, int, str]] = []
    told = ""
    for place, line in enumerate(islice(_LINE.finditer(text, position), _TITLES)):
        first = line[0].strip("\r\n\ufeff ")
        if place == 0 and re.fullmatch(r'"?sep=.?"?', first):
            told = first.strip('"')[4:] or "\t"
            continue
        fits, cells, delimiter = max(_fits(first, each, known) for each in (told or _DELIMITERS))
        found.append((fits if fits > 1 else 0, cells if place == 0 else 0, -place, line.start(), delimiter))
    if not found:
        return position, lines, told or ","
    first_filled = next((each for each in found if text[each[3] :].split("\n", 1)[0].strip()), found[0])
    best = max(found, key=lambda each: (each[0], each[2]))
    best = best if best[0] else first_filled
    return best[3], lines - best[2], best[4]


def _fits(line: str, delimiter: str, known: frozenset[str]) -> tuple[int, int, str]:
    """How many cells of a line are names of columns, how many there are."""
    cells = line.split(delimiter, MOST_COLUMNS)
    names = (column_names.plain(cell.strip().strip('"')) for cell in cells)
    return sum(name in known for name in names), len(cells), delimiter


def _cut(
    reader: _Reader, offset: int, columns: Sequence[Field], needed: Sequence[str], names: ColumnMap
) -> Iterator[Row | BadLine]:
    header: list[str | None] | None = None
    line = offset + 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            break
        except csv.Error as wrong:
            yield BadLine(line, _csv_words(wrong))
            if "end of data" in str(wrong):
                break
            line = offset + reader.line_num + 1
            continue
        if not any(cell.strip() for cell in cells):
            pass
        elif header is None:
            header = _header(cells, columns, needed, line, names)
        else:
            yield _row(line, cells, header, names)
        line = offset + reader.line_num + 1
    if header is None:
        raise _no_header()


def _no_header() -> InputError:
    return InputError("No header line.", example="the file that --template writes")


def _row(line: int, cells: list[str], header: Sequence[str | None], names: ColumnMap) -> Row | BadLine:
    while len(cells) > len(header) and not cells[-1].strip():
        cells.pop()
    if len(cells) != len(header):
        return BadLine(line, f"This line has {len(cells)} cells, the header {len(header)}.")
    told = list(zip(header, cells, strict=True))
    values = {key: names.cell(key, unshield(cell)) for key, cell in told if key}
    stray = next((cell for key, cell in told if key == "" and cell.strip()), None)
    if stray is not None:
        return BadLine(line, f"“{shown(stray)}” is under no column name.")
    return Row(line, values)


def _header(
    cells: list[str], columns: Sequence[Field], needed: Sequence[str], line: int, names: ColumnMap
) -> list[str | None]:
    """Our key for each cell; None for an ignored column, "" for an unnamed one."""
    keys = {header_key(name): column.key for column in columns for name in (column.title, column.key)}
    header: list[str | None] = []
    for cell in map(unshield, cells):
        key = None if names.leaves_out(cell) else _our_key(cell, keys, names, line)
        if key and key in header:
            once = ",".join(dict.fromkeys(filter(None, header)))
            raise InputError(f"The column {key} is in the header twice.", where=f"line {line}", example=once)
        header.append(key)
    missing = [key for key in needed if key not in header]
    if missing:
        raise InputError(f"The header has no column {missing[0]}.", _MAPPING_HELP, where=f"line {line}")
    while header and header[-1] == "":
        header.pop()
    return header


def _our_key(cell: str, keys: Mapping[str, str], names: ColumnMap, line: int) -> str:
    key = names.key_of(cell) or keys.get(header_key(cell), "")
    if cell.strip() and not key:
        near = difflib.get_close_matches(header_key(cell)[:60], list(keys), n=1, cutoff=0.7)
        hint = f"Did you mean {keys[near[0]]}? {_MAPPING_HELP}" if near else _MAPPING_HELP
        raise InputError(f"No column “{shown(cell)}”.", hint, where=f"line {line}")
    return key


def _csv_words(wrong: csv.Error) -> str:
    text = str(wrong)
    if "end of data" in text:
        return "A quotation mark opens on this line and never closes."
    if "expected after" in text:
        return "A quotation mark ends in the middle of a cell."
    if "limit" in text:
        return f"A cell is longer than {LARGEST_CELL:,} characters."
    return f"This line cannot be split into cells: {text}."
