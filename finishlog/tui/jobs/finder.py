"""A find box, the list under it, and from 110 columns a preview of the marked job."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import Horizontal, Vertical
from textual.widgets import Input

from finishlog.errors import LogError, ServerAway
from finishlog.tui.desks import looking
from finishlog.tui.desks.whole import leading
from finishlog.tui.jobs import empty, hint
from finishlog.tui.jobs.rows import PAGE, JobList
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.paint.text import plain
from finishlog.tui.running.timers import once
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.timer import Timer

    from finishlog.records.log import JobLine, Page
    from finishlog.tui.desks.photo import Shot
    from finishlog.tui.desks.views import JobView

TYPING = 0.06
"""Seconds after the last key before the search."""
PREVIEW = 0.08


class JobFinder(Frame):
    """Override `action_open`, which acts on the marked job."""

    PLANS: ClassVar[bool] = True
    """Whether the preview offers a plan."""
    FOLLOWS = True
    AUTO_FOCUS = ""  # letters and digits are keys until the box has the focus

    def __init__(self) -> None:
        super().__init__()
        self.box = Entry(id="find")
        self.rows = JobList(id="list")
        self._page: Page | None = None
        self._asked = ""
        self._typing: Timer | None = None
        self._looking: Timer | None = None
        self._view: JobView | None = None
        self._open_next = False
        self._failed = ""
        self._archived = False
        self._to_box = False

    def compose_body(self) -> ComposeResult:
        with Horizontal():
            with Vertical(id="jobs-left"):
                with Horizontal(id="find-row"):
                    yield Block(id="find-label")
                    yield self.box
                    yield Block(id="find-count")
                yield Block(id="find-hint")
                yield Block(id="nothing")
                yield self.rows
            yield Block(id="preview")

    def on_mount(self) -> None:
        self.query_one("#find-label", Block).show(lambda _: [Line().bold("Find")])
        self.query_one("#find-hint", Block).show(self._paint_hint)
        self.query_one("#find-count", Block).show(self._paint_count)
        self.query_one("#nothing", Block).show(self._paint_nothing)
        self.query_one("#preview", Block).show(self._paint_preview)
        (self.box if self._to_box else self.rows).focus()
        self.call_after_refresh(self._ask)

    @property
    def sentence(self) -> str:
        line = self.rows.current
        return f"{line.customer} · {line.name}" if line else ""

    @property
    def resting(self) -> bool:
        return self._typing is None and self._looking is None

    # finding

    @on(Input.Changed, "#find")
    def _typed(self) -> None:
        if self._typing is not None:
            self._typing.stop()
            self._typing = None
        self.query_one("#find-hint", Block).refresh()
        if looking.photo_path(self.box.value) is None:
            self._typing = once(self, TYPING, self._ask)

    def _ask(self, keep: str | None = None) -> None:
        self._typing = None
        words = self.box.value
        self._asked = words
        first = self.house.demo.handle if self.house.demo and not words.strip() else None
        since, pages = (self.rows.around, 3) if keep else (0, 1)
        self.ask(
            "list", lambda: self._some(words, first, since, pages),
            lambda page: self._found(page, keep, since), self._lost,
        )  # fmt: skip

    def _some(self, words: str, first: str | None, since: int, pages: int) -> Page:
        page = self.desks.page(words, limit=PAGE * pages, offset=since, archived=self._archived)
        return leading(page, first) if first and not since else page

    def _lost(self, error: Exception) -> None:
        """The log cannot be read; what is on the screen stays."""
        self._open_next = False
        if isinstance(error, LogError) and not isinstance(error, ServerAway):
            self.house.broken = True
        self.unread(error)

    def _found(self, page: Page, keep: str | None, since: int = 0) -> None:
        self.by_others = False
        self._page = page
        self.set_class(page.total == 0, "-nothing")
        self.rows.fill(page, keep, since)
        for part in ("#find-hint", "#find-count", "#nothing"):
            self.query_one(part, Block).repaint()
        if self._open_next:
            self._open_next = False
            self.action_open()

    @on(JobList.Wanted)
    def _more(self, event: JobList.Wanted) -> None:
        words, offset = self._asked, event.offset
        self.ask(
            f"page {offset}",
            lambda: self.desks.page(words, limit=PAGE, offset=offset, archived=self._archived),
            lambda page: self.rows.add(page, offset) if words == self._asked else None,
        )

    def reread(self) -> None:
        line = self.rows.current
        self._view = None
        self._ask(keep=line.handle if line else None)

    # preview

    @on(JobList.Moved)
    def _moved(self, event: JobList.Moved) -> None:
        self.query_one("#preview", Block).refresh()
        if self._looking is not None:
            self._looking.stop()
            self._looking = None
        if event.line is not None and self.wide and not self._previewed(event.line):
            line = event.line
            self._looking = once(self, PREVIEW, lambda: self._look(line))

    def _previewed(self, line: JobLine) -> bool:
        return self._view is not None and self._view.page.line.handle == line.handle

    def _look(self, line: JobLine) -> None:
        self._looking = None
        self._failed = ""
        self.ask("preview", lambda: self.desks.job(line.handle), self._looked, self._not_looked)

    def _looked(self, view: JobView) -> None:
        self._view = view
        self.query_one("#preview", Block).refresh()

    def _not_looked(self, error: Exception) -> None:
        """Show a failed preview in its pane: it must not stop the search."""
        self._failed = str(error)
        self.query_one("#preview", Block).refresh()

    def resized(self, width: int) -> None:
        super().resized(width)
        self._moved(JobList.Moved(self.rows.current))

    # painting

    def _paint_count(self, width: int) -> list[Line]:
        page = self._page
        text = self.busy or (
            f"{page.total} of {page.all_jobs}" if page else "" if self.house.broken else "reading…"
        )
        return [Line().facing(Line().muted(text), width)]

    def _paint_hint(self, width: int) -> list[Line]:
        look = (self.house.depth, self.house.palette.dark)
        return hint.paint(self._page, self.box.value, width, *look, archived=self._archived)

    def _paint_nothing(self, width: int) -> list[Line]:
        page = self._page
        if page is None or page.total:
            return []
        return empty.paint(page, plain(self._asked.strip()), width)

    def _paint_preview(self, width: int) -> list[Line]:
        from finishlog.tui.jobs import preview

        line = self.rows.current
        if line is None or not self.wide:
            return []
        view = self._view if self._previewed(line) else None
        house = self.house
        lines = preview.paint(
            line, view, width, house.depth, house.palette.dark, house.units, plans=self.PLANS
        )
        return [*lines, Line(), *paragraph(f"! {self._failed}", width, "bad")] if self._failed else lines

    # keys

    def find(self) -> None:
        """Focus the box, once mounted."""
        self._to_box = True
        if self.is_mounted:
            self.box.focus()
            self.box.select_all()

    def step_back(self) -> bool:
        """In the box go to the list and keep the text; in the list clear the box."""
        if self.focused is self.box:
            self.rows.focus()
            return True
        was = self.box.value
        self.box.value = ""
        return bool(was)

    @on(Input.Submitted, "#find")
    def _entered(self) -> None:
        path = looking.photo_path(self.box.value)
        if path is not None:
            self._open_photo(path)
        elif (
            self._page is not None
            and not self._page.total
            and self._page.nearest
            and self.box.value == self._asked
        ):
            self.box.value = self._page.nearest[0]
            self.box.cursor_position = len(self.box.value)
        elif self._typing is not None or self.box.value != self._asked or self._page is None:
            self._open_next = True
        else:
            self.action_open()

    @on(Entry.Down)
    def action_list(self) -> None:
        if self.rows.total:
            self.rows.focus()

    @on(JobList.Left)
    def _left_list(self) -> None:
        self.box.focus()

    @on(JobList.Opened)
    def _clicked(self) -> None:
        self.action_open()

    def action_open(self) -> None:
        raise NotImplementedError

    def _open_photo(self, path: str) -> None:
        if path:
            self.ask("photo", lambda: self.desks.open_photo(path), self._opened)
        else:
            self.say("type the photo's path, like photo:~/slab.jpg", 6)

    def _opened(self, shot: Shot) -> None:
        from finishlog.tui.photo.find import FindScreen

        self.app.push_screen(FindScreen(shot))
