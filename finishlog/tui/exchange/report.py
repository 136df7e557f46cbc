"""Paints an import's preview: counts, refusals, first pours, cells kept as notes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from finishlog.tui.paint.ink import Line, hanging, heading, paragraph
from finishlog.tui.paint.text import plain

if TYPE_CHECKING:
    from finishlog.records.exchange import ImportReport, Remark

Titles = Mapping[str, tuple[str, str]]
MOST = 30
"""Most remarks shown of one sort."""


def counted(number: int, word: str, many: str = "") -> str:
    """`1 job`, `2,400 jobs`; `many` is the plural if not just an s."""
    return f"{number:,} {word if number == 1 else many or word + 's'}"


def is_something(report: ImportReport) -> bool:
    """Whether the import would write anything."""
    return bool(report.pours_added or report.jobs_added or report.entries_added or report.undated)


def sentence(report: ImportReport) -> str:
    """What s imports, or why it cannot yet."""
    if report.bad:
        refused = counted(len({one.line for one in report.bad}), "row is", "rows are")
        return f"Nothing comes in yet: {refused} refused. Left changes a column; or fix the sheet."
    if report.questions:
        return "Nothing comes in yet: a column still needs an answer. Left goes back."
    if not report.rows:
        return "The sheet has no rows."
    if not is_something(report):
        return "Nothing new: the log already has every row."
    return f"{came(report)} ready to import. s imports all of it, or nothing."


def came(report: ImportReport) -> str:
    """`15 pours on 12 new jobs`."""
    jobs = counted(report.jobs_added, "new job")
    if report.entries_added:
        return f"{counted(report.entries_added, 'entry', 'entries')} and {jobs}"
    return f"{counted(report.pours_added, 'pour')} and {jobs}"


def done(report: ImportReport) -> str:
    """The message after the import, with the way to undo it."""
    kept = f" {counted(len(report.kept), 'cell')} kept as notes." if report.kept else ""
    way = "" if report.entries_added else " To undo: i, then u."
    return f"Brought in {came(report)}.{kept}{way}"


def _counts(report: ImportReport) -> Iterator[tuple[str, str, str]]:
    """Figure, words and tone of each count."""
    if report.jobs_added:
        yield f"{report.jobs_added:,}", "new job" if report.jobs_added == 1 else "new jobs", "text"
    if report.pours_added:
        yield f"{report.pours_added:,}", "pour" if report.pours_added == 1 else "pours", "text"
    if report.entries_added:
        yield f"{report.entries_added:,}", "entry" if report.entries_added == 1 else "entries", "text"
    if report.joined:
        yield f"{len(report.joined):,}", "finishes told by several recipes: joined, see Recipes", "text"
    if report.undated:
        yield f"{report.undated:,}", "undated: kept as jobs that say so", "text"
    if report.kept:
        yield f"{len(report.kept):,}", "cells kept as notes on their jobs", "text"
    if report.copied:
        yield f"{report.copied:,}", "cells taken from the row above", "muted"
    if report.skipped:
        yield f"{report.skipped:,}", "rows already in the log, skipped", "muted"
    if report.left_aside:
        yield f"{len(report.left_aside):,}", "lines without a pour, left out", "muted"
    if report.flagged:
        yield f"{len(report.flagged):,}", "unusual, kept as written", "warn"
    if report.bad:
        yield f"{len({one.line for one in report.bad}):,}", "rows refused", "bad"


def page(report: ImportReport, titles: Titles, width: int) -> list[Line]:
    """Counts, refusals, first pours, then the rest."""
    figures = list(_counts(report))
    room = max((len(figure) for figure, _, _ in figures), default=0) + 2
    lines = [Line().gap(room - len(figure)).bold(figure, tone).put(f"  {text}", tone)
             for figure, text, tone in figures]  # fmt: skip
    lines += _remarks("Refused", report.bad, titles, width, "bad")
    if report.questions:
        lines += [Line(), *heading("Asked", width), *_texts(report.questions, width)]
    if report.preview:
        lines += [Line(), *heading("The first few, as understood", width), *_texts(report.preview, width)]
    lines += _remarks("Unusual, kept as written", report.flagged, titles, width, "warn")
    lines += _remarks("Kept as notes", report.kept, titles, width, "text")
    return [*lines, *_remarks("Left out", report.left_aside, titles, width, "muted")]


def _texts(texts: Sequence[str], width: int) -> list[Line]:
    return [row for text in texts for row in hanging(Line().muted("· "), plain(text), width)]


def _remarks(title: str, remarks: Sequence[Remark], titles: Titles, width: int, tone: str) -> list[Line]:
    """Each remark with its row, and our column by title."""
    if not remarks:
        return []
    lines = [Line(), *heading(title, width)]
    for one in remarks[:MOST]:
        what = titles.get(one.column, (one.column, ""))[0]
        head = Line().muted(f"row {one.line}".ljust(9))
        like = f" Like {one.example}." if one.example else ""
        said = ": ".join(part for part in (plain(what), plain(one.what)) if part)
        lines += hanging(head, said + plain(like), width, tone)
    if len(remarks) > MOST:
        lines += paragraph(f"and {len(remarks) - MOST:,} more", width, "muted")
    return lines
