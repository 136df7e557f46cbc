"""What an import and an export answer."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Remark:
    """Something said of one line of a sheet; `column` is "" where the line as a whole is meant."""

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
    """What one column of a foreign sheet is taken for, and how sure that is.

    `column` is ours, None where its cells are kept as a note under its header. `question` is what must be
    answered before the sheet can come in, "" where nothing is.
    """

    header: str
    samples: tuple[str, ...] = ()  # the first two cells that are filled, as written
    column: str | None = None
    sure: float = 0.0  # 0 to 1
    why: str = ""
    others: tuple[str, ...] = ()  # further columns of ours that it may be, the likeliest first
    unit: str | None = None  # of bare numbers
    dates: str | None = None  # the order of its days: m/d/y, d/m/y or y/m/d
    question: str = ""
    left_out: bool = False  # told to be left out


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What came in, or would come in where `written` is false. With anything in `bad`, nothing did."""

    rows: int
    jobs_added: int = 0
    pours_added: int = 0
    skipped: int = 0
    written: bool = False
    flagged: tuple[Remark, ...] = ()
    bad: tuple[Remark, ...] = ()
    preview: tuple[str, ...] = ()  # the first pours as they were understood, where only checked
    columns: tuple[tuple[str, str], ...] = ()  # our column and their header, where they were mapped
    remembered: bool = False  # whether the mapping, or part of it, was that of the last time
    entries_added: int = 0  # of a sheet of entries
    guesses: tuple[ColumnGuess, ...] = ()  # of a foreign sheet, one a column, in the sheet's order
    questions: tuple[str, ...] = ()  # to be answered once for the sheet; with any, nothing is brought in
    kept: tuple[Remark, ...] = ()  # cells that no column could take: on the job as a note under their header
    left_aside: tuple[Remark, ...] = ()  # lines that tell no pour: totals, headings
    undated: int = 0  # jobs kept without the day of their pour
    cells: int = 0  # filled cells of a foreign sheet
    copied: int = 0  # cells that stand for what is above them: ditto marks, merged cells


@dataclass(frozen=True, slots=True)
class Match:
    """A column of a foreign sheet and ours that it may be. `unit` goes with --unit, None where none is needed."""

    column: str
    header: str
    unit: str | None = None
    examples: tuple[str, ...] = ()
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A mapping proposed for a foreign sheet. `left_out` are headers that look like none of our columns."""

    matches: tuple[Match, ...]
    left_out: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()  # columns that are needed and were not found
    own: tuple[str, ...] = ()  # headers that are our own
    guesses: tuple[ColumnGuess, ...] = ()  # every column, in the sheet's order


@dataclass(frozen=True, slots=True)
class Exported:
    """What went out into a folder."""

    folder: str
    jobs: int
    files: int


@dataclass(frozen=True, slots=True)
class BroughtBack:
    """The log that was made of an export. `notes` say what in the folder was left aside."""

    folder: str
    jobs: int
    entries: int
    files: int
    written: bool
    notes: tuple[str, ...] = ()
