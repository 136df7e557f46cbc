"""A screen with one list: a mark that the arrows move, two lines of why under it, a pane where there is room."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Horizontal, Vertical

from finishlog.tui.ink import Line, rule
from finishlog.tui.screens.frame import Frame
from finishlog.tui.screens.today import Lines
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual.app import ComposeResult

MARK = "▌"
WHY = 2
"""Rows under the list that say why."""


class MarkedScreen(Frame):
    """Override `count`, the painters, and `action_open`."""

    def __init__(self) -> None:
        super().__init__()
        self._mark = 0

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="due"):
            with Vertical():
                with Lines():
                    yield Block(id="lines")
                yield Block(id="why")
            yield Block(id="aside")

    def on_mount(self) -> None:
        for name, painter in (
            ("title", self.paint_title), ("lines", self.paint_lines), ("why", self._paint_why),
            ("aside", self._paint_aside),
        ):  # fmt: skip
            self.query_one(f"#{name}", Block).show(painter)
        self.query_one(Lines).focus()

    def on_screen_resume(self) -> None:
        self.reread()

    @property
    def count(self) -> int:
        """How many lines there are."""
        raise NotImplementedError

    def paint_title(self, width: int) -> list[Line]:
        raise NotImplementedError

    def paint_lines(self, width: int) -> list[Line]:
        raise NotImplementedError

    def paint_why(self, width: int) -> list[Line]:
        raise NotImplementedError

    def paint_aside(self, width: int) -> list[Line]:
        raise NotImplementedError

    def _paint_why(self, width: int) -> list[Line]:
        if self.wide or not self.count:
            return []
        told = self.paint_why(width)[:WHY]
        blank = [Line()] * (WHY - len(told))  # so that the list keeps its height while the mark moves
        return [rule(width), *told, *blank, *([] if self.low else [Line()])]

    def _paint_aside(self, width: int) -> list[Line]:
        return self.paint_aside(width) if self.wide else []

    def put_mark(self, at: int) -> None:
        self._mark = max(0, min(at, self.count - 1))
        self.repaint()
        self.call_after_refresh(self._show_mark)

    def _show_mark(self) -> None:
        block, pane = self.query_one("#lines", Block), self.query_one(Lines)
        rows = [line.text for line in block.paint(block.size.width)]
        row = next((at for at, text in enumerate(rows) if text.startswith(MARK)), 0)
        top, height = round(pane.scroll_offset.y), max(pane.size.height, 1)
        if max(row - 1, 0) < top:
            pane.scroll_to(y=max(row - 1, 0), animate=False)
        elif row + 1 > top + height:
            pane.scroll_to(y=row + 1 - height, animate=False)

    def action_move(self, by: int) -> None:
        self.put_mark(self._mark + by)

    def action_pick(self, at: int) -> None:
        self.put_mark(at)
        self.action_open()

    def action_open(self) -> None:
        raise NotImplementedError
