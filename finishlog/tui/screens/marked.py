"""A screen with one list: a mark that the arrows move, two lines of why under it, a pane where there is room."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from finishlog.tui.paint.ink import Line, rule
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

MARK = "▌"
WHY = 2
"""Rows under the list that say why."""


L = TypeVar("L")


class Lines(Pane):
    """The list: the arrows move the mark."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(key, f"screen.move({by})", show=False)
        for key, by in (
            ("up", -1), ("down", 1), ("pageup", -10), ("pagedown", 10), ("home", -10_000), ("end", 10_000),
        )
    ]  # fmt: skip


class MarkedScreen(Frame, Generic[L]):
    """Override `lines`, `key_of`, the painters, and `action_open`."""

    NONE: ClassVar[str] = "no line marked"

    def __init__(self) -> None:
        super().__init__()
        self._mark = 0
        self._row = 0

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="due"):
            with Vertical():
                with Lines():
                    yield Block(id="lines")
                yield Block(id="why")
            with Pane(id="along", can_focus=False):
                yield Block(id="aside")

    def on_mount(self) -> None:
        for name, painter in (
            ("title", self.paint_title), ("lines", self._paint_rows), ("why", self._paint_why),
            ("aside", self._paint_aside),
        ):  # fmt: skip
            self.query_one(f"#{name}", Block).show(painter)
        self.query_one(Lines).focus()

    def on_screen_resume(self) -> None:
        self.reread()

    @property
    def lines(self) -> tuple[L, ...]:
        """The list's values in order; empty until read."""
        raise NotImplementedError

    @staticmethod
    def key_of(line: L) -> object:
        """What makes a line the same one after it was read again."""
        raise NotImplementedError

    @property
    def count(self) -> int:
        """Number of lines."""
        return len(self.lines)

    @property
    def current(self) -> L | None:
        """The line under the mark."""
        return self.lines[self._mark] if self._mark < self.count else None

    def paint_title(self, width: int) -> list[Line]:
        """The rows above the list."""
        raise NotImplementedError

    def paint_lines(self, width: int) -> list[Line]:
        """The list's rows; the marked one starts with MARK."""
        raise NotImplementedError

    def paint_why(self, width: int) -> list[Line]:
        """About the marked line, under the list; the first WHY rows show, not on a wide screen."""
        raise NotImplementedError

    def paint_aside(self, width: int) -> list[Line]:
        """About the marked line, in the pane of a wide screen."""
        raise NotImplementedError

    def _paint_rows(self, width: int) -> list[Line]:
        """The list; remembers its marked row's place, to keep it when rows arrive above."""
        lines = self.paint_lines(width)
        self._row = next((at for at, line in enumerate(lines) if line.text.startswith(MARK)), 0)
        return lines

    def _paint_why(self, width: int) -> list[Line]:
        if self.wide or not self.count:
            return []
        told = self.paint_why(width)[:WHY]
        blank = [Line()] * (WHY - len(told))  # so that the list keeps its height while the mark moves
        return [rule(width), *told, *blank, *([] if self.low else [Line()])]

    def _paint_aside(self, width: int) -> list[Line]:
        return self.paint_aside(width) if self.wide else []

    # the mark

    def put_mark(self, at: int) -> None:
        """Mark the line at an index, clamped to the list, and scroll to it."""
        before, self._mark = self._mark, max(0, min(at, self.count - 1))
        if before != self._mark:
            for along in self.query("#along").results(Pane):
                along.scroll_home(animate=False)
        self.repaint()
        self.call_after_refresh(self._show_mark)

    def mark_again(self, before: L | None) -> None:
        """After the list was read again: the mark stays on its line, or where that stood."""
        keys = [self.key_of(line) for line in self.lines]
        key = None if before is None else self.key_of(before)
        if not self.by_others or before is None:
            self.put_mark(keys.index(key) if key in keys else self._mark)
            return
        self.by_others, row = False, self._row
        if key not in keys:
            self.gone()
        self._mark = max(0, min(keys.index(key) if key in keys else self._mark, self.count - 1))
        self.repaint()
        self.call_after_refresh(self._stay, row)

    def gone(self) -> None:
        """The marked line is gone: others did it."""
        self.say("someone else took care of the marked line", 5)

    def _stay(self, row: int) -> None:
        """Keep the marked row in place, whatever arrived above it."""
        pane = self.query_one(Lines)
        pane.scroll_to(y=max(pane.scroll_offset.y + self._row - row, 0), animate=False)

    def _show_mark(self) -> None:
        """The marked row comes into view; with the first what stands over it, with the last all that follows."""
        block, pane = self.query_one("#lines", Block), self.query_one(Lines)
        rows = [line.text for line in block.paint(block.size.width)]
        row = next((at for at, text in enumerate(rows) if text.startswith(MARK)), 0)
        top, height = round(pane.scroll_offset.y), max(pane.size.height, 1)
        low, high = max(row - 1, 0), row + 1
        if self._mark == self.count - 1:
            high = max(min(row + height - 1, len(rows)), high)
        if low < top:
            pane.scroll_to(y=low, animate=False)
        elif high > top + height:
            pane.scroll_to(y=high - height, animate=False)

    # keys

    def with_line(self, call: Callable[[L], object]) -> None:
        """Call with the marked line; if there is none, say NONE."""
        if self.current is None:
            self.say(self.NONE)
        else:
            call(self.current)

    def action_move(self, by: int) -> None:
        self.put_mark(self._mark + by)

    def action_pick(self, at: int) -> None:
        self.put_mark(at)
        self.action_open()

    def action_open(self) -> None:
        raise NotImplementedError
