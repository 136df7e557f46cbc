"""Paints the import: files and columns."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len

from finishlog.tui.paint.ink import Line, clip, hanging, heading, paragraph
from finishlog.tui.paint.text import fit, plain
from finishlog.units import write_date

if TYPE_CHECKING:
    from finishlog.desk.exchange.back import Wrote
    from finishlog.desk.exchange.folder import Folder, Found
    from finishlog.records.exchange import ColumnGuess

MARK = "▌"
NARROW = 66
KINDS = {"sheet": "sheet", "folder": "folder", "up": "the folder above"}


def short(path: str, width: int) -> str:
    """A folder relative to home, cut at its start."""
    home = os.path.expanduser("~")
    text = plain(f"~{path[len(home) :]}" if path == home or path.startswith(home + os.sep) else path)
    while cell_len(text) > max(width, 4):
        text = "…" + text.lstrip("…")[1:]
    return text


def size_of(count: int) -> str:
    """`812 bytes`, `12 kB`, `3.4 MB`."""
    if count < 1000:
        return f"{count} bytes"
    return f"{count / 1000:.0f} kB" if count < 1_000_000 else f"{count / 1_000_000:.1f} MB"


def files_sentence(folder: Folder, last: Wrote | None) -> str:
    """The next step, then the last import and how to undo it."""
    sheets = sum(one.kind == "sheet" for one in folder.found)
    first = "Which file?" if sheets else "No sheet in this folder."
    back = f" The last import: {last.text()}; u undoes it." if last else ""
    return f"{first} CSV, text or Excel; nothing goes in until you have seen it.{back}"


def files(found: Sequence[Found], mark: int, width: int) -> list[Line]:
    """A row per file or folder; a hint leads if no sheet is among them."""
    if not any(one.kind == "sheet" for one in found):
        hint = Line().gap(2).muted("Enter opens a folder; Tab to type a path.").crop(width)
        return [hint, *(_file(one, at, width, here=at == mark) for at, one in enumerate(found))]
    return [_file(one, at, width, here=at == mark) for at, one in enumerate(found)]


def _file(one: Found, at: int, width: int, *, here: bool) -> Line:
    """Mark, name, size and day; the name is cut."""
    act = f"pick({at})"
    row = Line().put(MARK if here else " ", "accent").gap(0 if width < NARROW else 1)
    name = plain(one.name) + ("/" if one.kind == "folder" else "")
    row.put(name, "text" if one.kind == "sheet" else "muted", bold=here, act=act)
    if one.kind == "sheet":
        told = Line().muted(size_of(one.size)).gap(2)
        day = write_date(one.changed) if one.changed else ""
        right = told.muted(day.rjust(11))
    else:
        right = Line().muted(KINDS[one.kind])
    return row.facing(right, width - 1).on("cursor" if here else "ground", width)


def file_why(one: Found | None, folder: Folder | None, width: int) -> list[Line]:
    """What Enter does, and how many files are not shown."""
    if one is None or folder is None:
        return []
    others = f" {folder.others} other {'file is' if folder.others == 1 else 'files are'} not shown."
    verbs = {"sheet": "Enter shows its columns.", "folder": "Enter opens it.", "up": "Enter goes up."}
    return clip(paragraph(verbs[one.kind] + (others if folder.others else ""), width), 2, width)


def file_aside(one: Found | None, folder: Folder | None, width: int) -> list[Line]:
    """Empty if nothing is marked."""
    if one is None or folder is None:
        return []
    lines = [*clip(paragraph(plain(one.name), width, bold=True), 3, width)]
    if one.kind == "sheet":
        day = f", {write_date(one.changed)}" if one.changed else ""
        lines += paragraph(f"{size_of(one.size)}{day}", width, "muted")
    return [
        *lines,
        Line(),
        *file_why(one, folder, width),
        Line(),
        *heading("The way in", width),
        *_way(width),
    ]


def _way(width: int) -> list[Line]:
    steps = (
        "its columns, and what each comes in as",
        "a preview: what comes in, what is refused",
        "s imports all of it, or nothing",
    )
    return [row for at, text in enumerate(steps, 1) for row in hanging(Line().muted(f"{at} "), text, width)]


# columns


def state_of(guess: ColumnGuess, *, open_: bool) -> tuple[str, str, str]:
    """Glyph, word and tone."""
    if open_:
        return "?", "look", "warn"
    if guess.left_out:
        return "×", "out", "muted"
    if guess.column is None:
        return "·", "note", "muted"
    return "●", "sure", "ok"


def taken_for(guess: ColumnGuess, title: str) -> str:
    """What becomes of a column: its field with unit or date order, a note, or left out."""
    if guess.left_out:
        return "left out"
    if guess.column is None:
        return "kept as a note"
    unit = f", {guess.unit}" if guess.unit else f", {guess.dates}" if guess.dates else ""
    return f"{title}{unit}"


def columns_head(width: int) -> Line:
    """Headings over the columns of the list."""
    first, _, third = _stops(width)
    row = Line().gap(3 if width < NARROW else 4).muted("column").to(first).muted("first cells")
    return row.to(third).muted("→ comes in as").crop(width)


def _stops(width: int) -> tuple[int, int, int]:
    """Columns where first cell, second cell and meaning start."""
    if width < NARROW:
        return 16, 26, 35
    extra = min(max(width - 76, 0), 12)
    return 20 + extra // 3, 33 + extra * 2 // 3, 46 + extra


def column(guess: ColumnGuess, title: str, at: int, width: int, *, here: bool, open_: bool) -> Line:
    """A sheet's column: glyph, header, two cells, meaning, how sure."""
    act = f"pick({at})"
    narrow = width < NARROW
    first, second, third = _stops(width)
    glyph, word, tone = state_of(guess, open_=open_)
    row = Line().put(MARK if here else " ", "accent").gap(0 if narrow else 1)
    row.put(f"{glyph} ", tone, bold=True, act=act)
    row.put(fit(plain(guess.header), first - row.width - 1), bold=here, act=act).to(first)
    for text, start, end in zip((*guess.samples, "", "")[:2], (first, second), (second, third), strict=True):
        row.to(start).put(fit(plain(text), end - start - 1), "muted", act=act)
    row.to(third).put("→ ", "muted", act=act)
    becomes = taken_for(guess, title)
    row.put(becomes, "muted" if guess.column is None else "text", bold=here, act=act)
    right = Line() if narrow else Line().put(word, tone, act=act)
    return row.facing(right, width - 1, gap=1).on("cursor" if here else "ground", width)


def column_why(guess: ColumnGuess, title: str, width: int) -> list[Line]:
    """The question, else why we read it so."""
    head = Line().bold(fit(plain(guess.header), width // 3)).put(": ")
    return clip(hanging(head, plain(said_of(guess, title)), width), 2, width)


def said_of(guess: ColumnGuess, title: str) -> str:
    """The question without command-line words; else meaning and reason."""
    if guess.question:
        asked = guess.question.removeprefix(f"{guess.header}: ")
        return asked.partition(" Set it once")[0].partition(": --unit")[0].rstrip(".") + ". Enter picks one."
    if guess.left_out:
        return "left out; none of it comes in."
    if guess.column is None:
        return f"kept as a note on the job: {guess.why or 'as told'}. Enter changes it."
    return f"{title.lower()}, by {guess.why}." if guess.why.startswith(("its", "what")) else (
        f"{title.lower()}, {guess.why or 'as guessed'}."
    )  # fmt: skip


def column_aside(guess: ColumnGuess, title: str, help_: str, others: Sequence[str], width: int) -> list[Line]:
    """The pane: full header, cells, meaning, other possible meanings."""
    lines = [*clip(paragraph(plain(guess.header), width, bold=True), 3, width)]
    for text in guess.samples:
        lines += clip(hanging(Line().muted("  "), plain(text), width, "muted"), 2, width)
    lines += [Line(), Line().muted("→ ").bold(taken_for(guess, title))]
    if help_:
        lines += paragraph(help_, width, "muted")
    tone = "warn" if guess.question else "text"
    lines += [Line(), *paragraph(plain(said_of(guess, title)), width, tone)]
    if others:
        lines += [Line(), *paragraph("Perhaps " + ", ".join(others).lower() + ".", width)]
    return lines
