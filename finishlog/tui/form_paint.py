"""What stands between the fields of a form: headings, doubts and cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from finishlog.tui.forms import LABEL
from finishlog.tui.ink import Line, hanging, heading
from finishlog.tui.widgets.canvas import Block


def heading_of(title: str) -> Block:
    """The heading of the fields that follow."""
    block = Block(classes="heading")
    block.show(lambda width: [Line(), *heading(title, width)])
    return block


def said(mark: str, text: str, width: int, tone: str) -> list[Line]:
    """A sentence under the fields, after its mark."""
    return hanging(Line().gap(LABEL + 1).put(mark, tone), text, width, tone)


def beside(parts: Iterable[tuple[str, Sequence[str]]], width: int) -> list[Line]:
    """Headings with their sentences, for the pane beside a form."""
    lines: list[Line] = []
    for title, texts in parts:
        if texts:
            lines += [*([Line()] if lines else []), *heading(title, width)]
            lines += [line for text in texts for line in hanging(Line().muted("· "), text, width)]
    return lines
