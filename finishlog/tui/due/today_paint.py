"""Paints what is due: the groups, why a line is due, the look ahead at a pour."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from finishlog.records.due import Ahead, Today, TodayLine
from finishlog.tui.paint.ink import Line, clip, hanging, heading, paragraph
from finishlog.tui.paint.layout import hanging_after

GROUPS = {"open": "Open", "slipped": "Slipped", "opens": "Opens next"}
GLYPHS = {"open": ("●", "ok"), "slipped": ("!", "warn"), "opens": ("○", "muted")}
MARK = "▌"
NARROW = 66
TITLE = 16
FURTHER = {
    "rinse": "r opens the rinse helper.",
    "photo": "p adds the files; Enter only marks it taken.",
}
ENTERS = "Enter fills in the entry; Enter again logs it."
EMPTY = "/ finds a job; l there logs anything else."


def title(sentence: str, fact: str, width: int) -> list[Line]:
    """The sentence as title, with one fact at the right."""
    room = width - (len(fact) + 2 if fact else 0)
    first, stop, rest = sentence.partition(". ")
    rows = hanging_after(Line().bold(first + stop.rstrip()).gap(1 if rest else 0), rest, room)
    return [rows[0].facing(Line().muted(fact), width), *rows[1:]] if fact else rows


def page(found: Today, told: Today, mark: int, width: int) -> list[Line]:
    """The whole list; `told` has the same lines with current times."""
    narrow = width < NARROW
    lines: list[Line] = []
    numbered = enumerate(zip(found.lines, told.lines, strict=True))
    for state, group in groupby(numbered, key=lambda each: each[1][0].state):
        lines += [Line()] if lines and not narrow else []
        lines.append(_left(narrow).bold(GROUPS[state]))
        lines += [_row(told_line, at, width, here=at == mark) for at, (_, told_line) in group]
    for ahead in found.ahead:
        lines += [Line(), *_indented(look_ahead(ahead, width - 4), narrow)]
    return lines or _indented(paragraph(EMPTY, width - 4, "muted"), narrow)


def _left(narrow: bool) -> Line:
    return Line().gap(1 if narrow else 2)


def _indented(lines: Iterable[Line], narrow: bool) -> list[Line]:
    return [_left(narrow).join(line) for line in lines]


def _row(line: TodayLine, at: int, width: int, *, here: bool) -> Line:
    """Mark, glyph, task, customer, time left; the job name is cut first, the time never."""
    narrow = width < NARROW
    glyph, tone = GLYPHS[line.state]
    act = f"pick({at})"
    row = Line().put(MARK if here else " ", "accent").gap(0 if narrow else 1)
    row.put(glyph, tone, act=act).put(" ", act=act).put(line.title, bold=here, act=act)
    first = line.before.split()[0] if line.before and narrow else line.before
    row.to(row_start(narrow)).put(f"! {first}  " if first else "", "warn", act=act)
    row.put(whose(line), act=act)
    told = "warn" if line.said.endswith(" late") else "text" if line.state == "open" else "muted"
    row.facing(Line().put(line.said, told, bold=here, act=act), width - (1 if narrow else 2))
    return row.on("cursor" if here else "ground", width)


def row_start(narrow: bool) -> int:
    """Column where the customer starts, after the title."""
    return TITLE + (3 if narrow else 5)


def whose(line: TodayLine) -> str:
    """Customer, then place if known."""
    return f"{line.who}, {line.where}" if line.where else line.who


def why(line: TodayLine | None, most: int, width: int) -> list[Line]:
    """Why now, and its caution, in at most `most` rows."""
    if line is None:
        return []
    files = FURTHER["photo"] if line.what == "photo" else ""
    first = f"! {line.first}" if line.first else ""
    told = " ".join(
        part for part in (first, line.why, files, f"! {line.caution}" if line.caution else "") if part
    )
    return clip(paragraph(told, width), most, width)


def aside(line: TodayLine | None, width: int) -> list[Line]:
    """The pane: task, usual time, why, every caution."""
    if line is None:
        return []
    lines = [Line().bold(line.title).crop(width), *paragraph(whose(line), width)]
    if line.first:
        lines += [Line(), *hanging(Line().put("! ", "warn"), line.first, width)]
    lines += [Line(), *_named("Time", line.said, width), *_named("Usual", line.usual, width)]
    lines += [Line(), *heading("Why now", width), *paragraph(line.why, width)] if line.why else []
    if line.cautions:
        lines += [Line(), *heading("Mind", width)]
        lines += [row for text in line.cautions for row in hanging(Line().put("! ", "warn"), text, width)]
    keys = f"{ENTERS} {FURTHER.get(line.what, '')}".strip()
    return [*lines, Line(), *paragraph(keys, width, "muted")] if line.what != "pour" else lines


def _named(label: str, text: str, width: int) -> list[Line]:
    return hanging(Line().muted(label).to(7), text, width)


def look_ahead(ahead: Ahead, width: int) -> list[Line]:
    """What to settle before a pour, actions first."""
    lines = [
        Line().bold(f"Before the pour {ahead.when}").muted(f"  {ahead.customer} · {ahead.piece}").crop(width)
    ]
    for part in ahead.parts:
        glyph, tone = ("!", "warn") if part.settle else ("·", "muted")
        lines += hanging(Line().put(glyph, tone).gap(1).put(part.title, tone).to(18), part.text, width)
    return lines
