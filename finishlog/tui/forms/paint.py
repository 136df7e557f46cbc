"""Paints what is between a form's fields: headings, doubts, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, tzinfo

from rich.cells import cell_len

from finishlog.tui.forms.fields import LABEL
from finishlog.tui.paint.ink import Line, hanging, heading
from finishlog.tui.paint.text import plain
from finishlog.tui.widgets.bars import NARROW, clock
from finishlog.tui.widgets.canvas import Block

INDENT = 4


def heading_of(title: str) -> Block:
    """A heading for the fields that follow."""
    block = Block(classes="heading")
    block.show(lambda width: [Line(), *heading(title, width)])
    return block


def told(kept: Iterable[tuple[str, str]], width: int) -> list[Line]:
    """Everything to be saved, label and value, none cut."""
    lines = [Line().bold("Logs")]
    for label, value in kept:
        room = width - lines[-1].width - 2
        if cell_len(f"{label} {value},") > room and lines[-1].width > INDENT:
            lines.append(Line().gap(INDENT - 2))
        lines[-1].gap(2)
        if cell_len(f"{label} {value}") <= width - lines[-1].width:
            lines[-1].muted(f"{plain(label)} ").put(value)
        else:
            lines[-1:] = hanging(lines[-1].muted(f"{plain(label)} "), value, width)
    return lines if len(lines) > 1 or lines[0].width > 4 else []


def unfinished(since: datetime | None, now: datetime, zone: tzinfo) -> str:
    """Note above a restored form."""
    if since is None:
        return "Unfinished; here is what you typed."
    then, here = since.astimezone(zone), now.astimezone(zone)
    said = clock(then, NARROW - 1 if then.date() == here.date() else NARROW)
    return f"Unfinished since {' '.join(said.split())}; here is what you typed."


def said(mark: str, text: str, width: int, tone: str) -> list[Line]:
    """A sentence under the fields, after its mark."""
    return hanging(Line().gap(LABEL + 1).put(mark, tone), text, width, tone)


def beside(parts: Iterable[tuple[str, Sequence[str]]], width: int) -> list[Line]:
    """Headings and sentences for the pane beside a form."""
    lines: list[Line] = []
    for title, texts in parts:
        if texts:
            lines += [*([Line()] if lines else []), *heading(title, width)]
            lines += [line for text in texts for line in hanging(Line().muted("· "), text, width)]
    return lines
