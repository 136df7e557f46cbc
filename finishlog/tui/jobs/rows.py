"""The list of jobs, two rows each. It holds the pages it has shown and asks for others."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from finishlog.tui.paint import swatch, wording
from finishlog.tui.paint.ink import Line
from finishlog.tui.widgets.bars import NARROW

if TYPE_CHECKING:
    from textual import events

    from finishlog.records.log import JobLine, Page
    from finishlog.tui.paint.theme import Depth
    from finishlog.tui.running.house import House

PAGE = 50


def item(line: JobLine, width: int, depth: Depth, dark: bool, *, here: bool) -> tuple[Line, Line]:
    """Customer and date; the look in words, shades, pattern."""
    margin = 2 if width >= NARROW or width > 60 else 1
    mark = Line().put("▌" if here else " ", "accent")
    chips = swatch.chip(line.base_hex, line.release_hex, line.release_left_percent, depth, dark)
    upper = Line().join(mark).to(margin).join(chips[0]).gap(2)
    lower = Line().join(mark).to(margin).join(chips[1]).gap(2)
    upper.bold(wording.name(line)).facing(Line().muted(wording.beside(line)), width - margin)
    lower.put(wording.color(line, depth))
    lower.muted("".join(f" · {part}" for part in wording.parts(line)))
    lower.crop(width - margin)
    for row in (upper, lower):
        row.on("cursor" if here else "ground", width)
    return upper, lower


class JobList(ScrollView, can_focus=True):
    """Draws only the rows in view: a log may hold 200,000 jobs."""

    DEFAULT_CSS = """
    JobList { height: 1fr; scrollbar-size-vertical: 1; scrollbar-gutter: stable; overflow-x: hidden; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("pageup", "leaf(-1)", show=False),
        Binding("pagedown", "leaf(1)", show=False),
        Binding("home", "move(-1000000000)", show=False),
        Binding("end", "move(1000000000)", show=False),
    ]

    class Moved(Message):
        """The mark moved, or there is no job to mark."""

        def __init__(self, line: JobLine | None) -> None:
            super().__init__()
            self.line = line

    class Opened(Message):
        """A click, same as Enter."""

    class Wanted(Message):
        """Rows from `offset` on are in view but not loaded."""

        def __init__(self, offset: int) -> None:
            super().__init__()
            self.offset = offset

    class Left(Message):
        """Up was pressed on the first job."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.total = 0
        self.cursor = 0
        self._pages: dict[int, tuple[JobLine, ...]] = {}
        self._asked: set[int] = set()

    @property
    def around(self) -> int:
        """Offset of the page before the marked one."""
        return max(self.cursor // PAGE - 1, 0) * PAGE

    def fill(self, page: Page, keep: str | None = None, since: int = 0) -> None:
        """A new result from `since` on. The mark stays on job `keep`, in the same screen row."""
        lines = page.lines
        self._pages = {(since + at) // PAGE: lines[at : at + PAGE] for at in range(0, len(lines), PAGE)}
        self._asked = set()
        self.total = page.total
        handles = [line.handle for line in lines]
        below = self.cursor * 2 - round(self.scroll_y)
        if keep in handles:
            self.cursor = since + handles.index(keep)
        else:
            self.cursor = max(min(self.cursor, page.total - 1), 0) if keep else 0
        self._laid_out()
        self.scroll_to(y=max(self.cursor * 2 - below, 0) if keep else 0, animate=False)
        self._show_cursor()

    def add(self, page: Page, offset: int) -> None:
        """Another page of the same result."""
        self._pages[offset // PAGE] = page.lines
        self._asked.discard(offset // PAGE)
        self.refresh()
        if self.cursor // PAGE == offset // PAGE:
            self.post_message(self.Moved(self.current))

    @property
    def current(self) -> JobLine | None:
        """None if nothing is listed or its page has not come yet."""
        return self.line_at(self.cursor)

    def line_at(self, index: int) -> JobLine | None:
        """None out of range, or if its page has not come yet."""
        page = self._pages.get(index // PAGE, ())
        return page[index % PAGE] if 0 <= index < self.total and index % PAGE < len(page) else None

    def action_move(self, by: int) -> None:
        if by == -1 and self.cursor == 0:
            self.post_message(self.Left())
            return
        self.cursor = max(0, min(self.cursor + by, self.total - 1))
        self._show_cursor()

    def action_leaf(self, by: int) -> None:
        self.action_move(by * max(self.size.height // 2, 1) if self.cursor or by > 0 else 0)

    @property
    def _rows(self) -> int:
        """Rows in view that hold whole items."""
        return self.size.height // 2 * 2

    def _show_cursor(self) -> None:
        height, top = self._rows, round(self.scroll_y)
        first = self.cursor * 2
        if first < top:
            self.scroll_to(y=first, animate=False)
        elif height and first + 2 > top + height:
            self.scroll_to(y=first + 2 - height, animate=False)
        self.refresh()
        self.post_message(self.Moved(self.current))

    def _laid_out(self) -> None:
        self.virtual_size = Size(self.size.width, self.total * 2 + self.size.height % 2)
        self.refresh()

    def on_resize(self) -> None:
        self._laid_out()

    def render_line(self, y: int) -> Strip:
        app = cast("House", self.app)
        index, row = divmod(y + round(self.scroll_y), 2)
        if y >= self._rows:
            index = self.total
        width = self.scrollable_content_region.width
        if index >= self.total:
            return self._strip(Line().on("ground", width))
        line = self.line_at(index)
        if line is None:
            self._want(index // PAGE)
            return self._strip(Line().gap(10).muted("…" if row == 0 else "").on("ground", width))
        here = index == self.cursor
        return self._strip(item(line, width, app.depth, app.palette.dark, here=here)[row])

    def _strip(self, line: Line) -> Strip:
        palette = cast("House", self.app).palette
        return Strip(palette.segments(line), line.width)

    def _want(self, page: int) -> None:
        if page not in self._asked:
            self._asked.add(page)
            self.post_message(self.Wanted(page * PAGE))

    def on_click(self, event: events.Click) -> None:
        index = (event.y + round(self.scroll_y)) // 2
        if 0 <= index < self.total:
            self.focus()
            self.cursor = index
            self._show_cursor()
            self.post_message(self.Opened())
