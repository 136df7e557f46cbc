"""Results of an import and an export."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Remark:
    """A remark on one line of a sheet; `column` is "" if it concerns the whole line."""

    line: int
    column: str
    what: str
    example: str = ""

    def text(self) -> str:
        """In one line: "line 7, dose: …, like 7 lb/yd3."."""
        where = f"line {self.line}, {self.column}" if self.column else f"line {self.line}"
        like = f" Like {self.example}." if self.example else ""
        return f"{where}: {self.what}{like}"


@dataclass(frozen=True, slots=True)
class ColumnGuess:
    """What a column of a foreign sheet was taken for, and how surely.

    `column` is ours, None where its cells are kept as a note under its header. `question` must be
    answered before the sheet can be imported; "" if there is none.
    """

    header: str
    samples: tuple[str, ...] = ()  # the first two filled cells, as written
    column: str | None = None
    sure: float = 0.0  # 0 to 1
    why: str = ""
    others: tuple[str, ...] = ()  # other candidate columns, likeliest first
    unit: str | None = None  # of bare numbers
    dates: str | None = None  # the order of its days: m/d/y, d/m/y or y/m/d
    question: str = ""
    left_out: bool = False  # told to be left out


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What came in, or would if `written` is false. Any `bad` line stops the whole import."""

    rows: int
    jobs_added: int = 0
    pours_added: int = 0
    skipped: int = 0
    written: bool = False
    flagged: tuple[Remark, ...] = ()
    bad: tuple[Remark, ...] = ()
    preview: tuple[str, ...] = ()  # the first pours as understood, if only checked
    columns: tuple[tuple[str, str], ...] = ()  # our column and their header, where they were mapped
    remembered: bool = False  # whether any of the mapping was remembered
    entries_added: int = 0  # of a sheet of entries
    guesses: tuple[ColumnGuess, ...] = ()  # of a foreign sheet, one a column, in the sheet's order
    questions: tuple[str, ...] = ()  # answered once per sheet; any open question stops the import
    kept: tuple[Remark, ...] = ()  # cells no column could take: kept as a job note under their header
    left_aside: tuple[Remark, ...] = ()  # lines that are not pours: totals, headings
    undated: int = 0  # jobs kept without the day of their pour
    cells: int = 0  # filled cells of a foreign sheet
    copied: int = 0  # cells that repeat the one above: ditto marks, merged cells
    joined: tuple[str, ...] = ()  # finishes whose recipes were joined: each counts as one recipe from now on


@dataclass(frozen=True, slots=True)
class Match:
    """A foreign column and our candidate for it. `unit` goes with --unit, None if not needed."""

    column: str
    header: str
    unit: str | None = None
    examples: tuple[str, ...] = ()
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A mapping proposed for a foreign sheet. `left_out` are headers that resemble no column of ours."""

    matches: tuple[Match, ...]
    left_out: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()  # columns that are needed and were not found
    own: tuple[str, ...] = ()  # headers that are our own
    guesses: tuple[ColumnGuess, ...] = ()  # every column, in the sheet's order


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export wrote to a folder."""

    folder: str
    jobs: int
    files: int


@dataclass(frozen=True, slots=True)
class BroughtBack:
    """The log rebuilt from an export. `notes` name what was ignored in the folder."""

    folder: str
    jobs: int
    entries: int
    files: int
    written: bool
    notes: tuple[str, ...] = ()
