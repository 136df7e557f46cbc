"""A screen with one list: the arrows move a mark, its details are under or beside the list."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from finishlog.tui.paint.ink import Line, rule
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Along, Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

MARK = "▌"
WHY = 2
"""Rows of details under the list."""


L = TypeVar("L")


class Lines(Pane):
    """The list; its arrows move the mark."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(key, f"screen.move({by})", show=False)
        for key, by in (
            ("up", -1), ("down", 1), ("pageup", -10), ("pagedown", 10), ("home", -(10**9)), ("end", 10**9),
        )
    ]  # fmt: skip


class MarkedScreen(Frame, Generic[L]):
    """Override `lines`, `key_of`, the painters, and `action_open`."""

    NONE: ClassVar[str] = "no line marked"

    def __init__(self) -> None:
        super().__init__()
        self._mark = 0
        self._row = self._rows = 0

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="due"):
            with Vertical():
                with Lines():
                    yield self.make_list()
                yield Block(id="why")
            with Pane(id="along", can_focus=False):
                yield Along(id="aside")

    def make_list(self) -> Block:
        """The widget of the list."""
        block = Block(id="lines")
        block.show(self._paint_rows)
        return block

    def on_mount(self) -> None:
        for name, painter in (
            ("title", self.paint_title), ("why", self._paint_why), ("aside", self._paint_aside),
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
        """Identifies a line across reloads."""
        raise NotImplementedError

    @property
    def count(self) -> int:
        """Number of lines."""
        return len(self.lines)

    @property
    def current(self) -> L | None:
        """The marked line; None if the list is empty."""
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
        """The list; notes the marked row, to keep it in place when rows arrive above."""
        lines = self.paint_lines(width)
        self._rows = len(lines)
        self._row = next((at for at, line in enumerate(lines) if line.text.startswith(MARK)), 0)
        return lines

    def _paint_why(self, width: int) -> list[Line]:
        if self.wide or not self.count:
            return []
        told = self.paint_why(width)[:WHY]
        blank = [Line()] * (WHY - len(told))  # the list keeps its height while the mark moves
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
        if self._laid_out():
            self._show_mark()  # at once: a scroll later would paint the list twice
        else:
            self.call_after_refresh(self._show_mark)

    def _laid_out(self) -> bool:
        """Whether the list has its height already and the marked row is known before it is painted."""
        return False

    def mark_again(self, before: L | None) -> None:
        """After a reload, keep the mark on its line, or at its index if that is gone."""
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
        """Called when others' changes removed the marked line."""
        self.say("someone else took care of the marked line", 5)

    def _stay(self, row: int) -> None:
        """Scroll so that the marked row stays in place."""
        pane = self.query_one(Lines)
        pane.scroll_to(y=max(pane.scroll_offset.y + self._where()[0] - row, 0), animate=False)

    def _where(self) -> tuple[int, int]:
        """The marked row, and how many there are, as last painted."""
        return self._row, self._rows

    def _show_mark(self) -> None:
        """Scroll to the marked row; the first brings its heading, the last what follows the list."""
        pane, (row, rows) = self.query_one(Lines), self._where()
        top, height = round(pane.scroll_offset.y), max(pane.size.height, 1)
        low, high = max(row - 1, 0), row + 1
        if self._mark == self.count - 1:
            high = max(min(row + height - 1, rows), high)
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
