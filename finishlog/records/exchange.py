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
