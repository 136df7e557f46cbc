"""A marked list of any length: pages are read as they come in view, only rows in view are painted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

from finishlog.tui.paint.ink import Line
from finishlog.tui.screens.marked import Lines, MarkedScreen
from finishlog.tui.screens.pages import Pages
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.roll import Roll

L = TypeVar("L")


class PagedScreen(MarkedScreen[L], Generic[L]):
    """Override `row_count`, `row_of`, `paint_row` and `read_page` in place of `paint_lines`."""

    def __init__(self) -> None:
        super().__init__()
        self.pages: Pages[L] = Pages()

    def make_list(self) -> Block:
        roll = Roll(id="lines")
        roll.roll(self.row_count, self._paint_row)
        return roll

    @property
    def lines(self) -> tuple[L, ...]:
        """The lines that are here: all of a short list."""
        return tuple(line for _, line in self.pages.held())

    @property
    def count(self) -> int:
        return self.pages.total

    @property
    def current(self) -> L | None:
        """The marked line; None if the list is empty or its page has not come."""
        return self.pages.at(self._mark)

    def row_count(self, width: int) -> int:
        """Rows of the whole list."""
        raise NotImplementedError

    def row_of(self, index: int, width: int) -> int:
        """The row of a line."""
        raise NotImplementedError

    def paint_row(self, y: int, width: int) -> tuple[Line, int | None]:
        """A row, and the line that it lacks if its page has not come."""
        raise NotImplementedError

    def read_page(self, offset: int) -> None:
        """Ask for the page from `offset` on, then `page_came`."""
        raise NotImplementedError

    def paint_lines(self, width: int) -> list[Line]:
        return [self.paint_row(y, width)[0] for y in range(self.row_count(width))]

    def _paint_row(self, y: int, width: int) -> Line:
        line, lacks = self.paint_row(y, width)
        if lacks is not None:
            self._want(lacks)
        return line

    def _want(self, index: int) -> None:
        offset = self.pages.missing(index)
        if offset is not None:
            self.read_page(offset)

    def page_came(self, lines: Sequence[L], offset: int, total: int) -> None:
        """Another page; of a list that changed meanwhile nothing is mixed, it is read anew."""
        if total != self.pages.total:
            self.reread()
            return
        self.pages.add(lines, offset)
        self.repaint()

    def filled(self, lines: Sequence[L], offset: int, total: int, row: int) -> None:
        """A new result around the mark, which stays on its line; `row` is where the mark was."""
        before = self.current
        key = None if before is None else self.key_of(before)
        self.pages.fill(lines, offset, total)
        here = (
            None
            if key is None
            else next((at for at, one in self.pages.held() if self.key_of(one) == key), None)
        )
        others, self.by_others = self.by_others and before is not None, False
        if not others:
            self.put_mark(self._mark if here is None else here)
        else:
            if here is None:
                self.gone()
            self._mark = max(0, min(self._mark if here is None else here, self.count - 1))
            self.repaint()
            self.call_after_refresh(self._stay, row)
        if self.current is None:
            self._want(self._mark)

    def _row_now(self) -> int:
        width = self.query_one("#lines", Block).size.width
        return self.row_of(self._mark, width) if self.count else 0

    def _where(self) -> tuple[int, int]:
        return self._row_now(), self.row_count(self.query_one("#lines", Block).size.width)

    def _laid_out(self) -> bool:
        size = self.query_one("#lines", Block).size
        return bool(size.width) and size.height == self.row_count(size.width)

    def put_mark(self, at: int) -> None:
        super().put_mark(at)
        self._want(self._mark)

    def with_line(self, call: Callable[[L], object]) -> None:
        if self.count and self.current is None:
            self.say("reading…")
        else:
            super().with_line(call)


__all__ = ["Lines", "PagedScreen"]
