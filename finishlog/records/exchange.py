"""What an import answers."""

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
