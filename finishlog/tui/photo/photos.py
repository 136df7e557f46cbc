"""A job's photos by age, with thumbnails and facts; add some, or open one to read it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.binding import BindingType
from textual.containers import Horizontal

from finishlog.tui import actions
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line
from finishlog.tui.photo import picture
from finishlog.tui.photo.picture_pane import PicturePane
from finishlog.tui.screens.frame import Frame
from finishlog.tui.screens.pages import place
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane
from finishlog.tui.widgets.roll import Roll

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from finishlog.desk.photo.measured import Measured
    from finishlog.desk.photo.photos import PhotoLine
    from finishlog.tui.desks.photo import PhotosView
    from finishlog.tui.photo.picture import Grid

CELLS, ROWS = 8, 3
THUMBS = 70
"""Width from which rows have thumbnails."""
AHEAD = 20
"""Thumbnails made before and after the mark at a time."""


class List(Pane):
    """Its arrows move the mark; the pane scrolls after it."""

    def action_scroll_up(self) -> None:
        cast(PhotosScreen, self.screen).move(-1)

    def action_scroll_down(self) -> None:
        cast(PhotosScreen, self.screen).move(1)

    def action_scroll_home(self) -> None:
        cast(PhotosScreen, self.screen).move(-(10**6))

    def action_scroll_end(self) -> None:
        cast(PhotosScreen, self.screen).move(10**6)


class PhotosScreen(Frame):
    """`done` gets a photo's readings in place of the log, for the rinse helper."""

    SCOPE = "photos"
    FOLLOWS = True
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("photos")

    def __init__(self, handle: str, title: str, done: Callable[[Measured], None] | None = None) -> None:
        super().__init__()
        self._handle, self._title, self._done = handle, title, done
        self._view: PhotosView | None = None
        self._small: dict[str, Grid] = {}
        self._at = 0
        self._coming = ""

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="photo-row"):
            with List():
                yield Roll(id="photos")
            yield PicturePane(id="marked")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#photos", Roll).roll(lambda _: len(self.lines) * (ROWS + 1), self._paint_row)
        self.query_one(List).focus()
        self.reread()

    @property
    def lines(self) -> tuple[PhotoLine, ...]:
        """Oldest first; empty until read."""
        return self._view.lines if self._view else ()

    @property
    def thumbs(self) -> bool:
        """Whether rows have thumbnails too: there is room beside the pane."""
        return self.size.width >= THUMBS

    @property
    def sentence(self) -> str:
        if self._view is None:
            return ""
        if not self.lines:
            return "No photos yet. a adds files or a whole folder."
        unread = sum(not line.readings for line in self.lines)
        if self._done:
            return "Which one shows the three spots? Enter opens it."
        return f"{unread} not read yet. Enter reads colors off one." if unread else "All read."

    def reread(self) -> None:
        self.ask("photos", lambda: self.desks.photos(self._handle), self._came)

    def _came(self, view: PhotosView) -> None:
        others, self.by_others = self.by_others, False
        new = self._view is None or len(view.lines) != len(self.lines)
        here = self.lines[self._at].entry if self.lines else None
        self._view = view
        entries = [line.entry for line in view.lines]
        if others and here in entries:
            row, self._at = self._at, entries.index(here)
            self.query_one(List).scroll_relative(y=(self._at - row) * (ROWS + 1), animate=False)
        elif new:
            self._at = max(len(view.lines) - 1, 0)
        self.move(0)

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        many = len(self.lines)
        fact = self._coming or place(self._at, many) or (f"{many} by age" if many else "")
        notes = wording.cannot_show(self.house.depth, width) if self.lines else []
        return self.head(f"Photos · {self._title}", fact, width, *notes)

    def _paint_row(self, y: int, width: int) -> Line:
        at, row = divmod(y, ROWS + 1)
        return self._rows(self.lines[at], at, width)[row]

    def _rows(self, line: PhotoLine, at: int, width: int) -> list[Line]:
        """Beside the thumbnail: age, date, facts, name; a row each if narrow."""
        states = [said for said in (line.area, *_states(line)) if said]
        told = Line().put(", ".join(states) or "no details", "text" if states else "muted")
        age, taken = Line().bold(line.age), Line().muted(line.taken)
        texts = (
            (age.gap(3).join(taken), told, Line().muted(line.name))
            if self.thumbs
            else (age, taken, told if states else Line().muted(line.name))
        )
        found = self._small.get(line.sha256)
        look = self.house.depth, self.house.palette.dark
        small = picture.paint(found, {}, *look) if found else [Line().muted("·" * CELLS)] * ROWS
        read = Line().muted(f"{line.readings} read" if line.readings else "not read")
        rows = []
        for row_at, text in enumerate(texts):
            row = Line().put("▌" if at == self._at else " ", "accent", act=f"pick({at})").gap(1)
            if self.thumbs:
                row.join(Line(*(small[row_at].pieces if row_at < len(small) else ()))).to(2 + CELLS + 2)
            row.join(text)
            rows.append(row.facing(read, width) if row_at == (2 if self.thumbs else 0) else row.crop(width))
        return [*rows, Line()]

    # keys

    def move(self, by: int) -> None:
        """Moves the mark by so many photos, within the list."""
        self._at = min(max(self._at + by, 0), max(len(self.lines) - 1, 0))
        self.repaint()
        self.call_after_refresh(self._show_mark)
        self._ask_small()
        self._ask_marked()

    def _ask_marked(self) -> None:
        """Show the marked photo in the pane; blank on failure, since opening it says why."""
        pane = self.query_one(PicturePane)
        if self.lines:
            sha = self.lines[self._at].sha256
            self.ask("marked", lambda: self.desks.picture(sha), pane.show, lambda _: pane.show(b""))

    def _show_mark(self) -> None:
        pane = self.query_one(List)
        row, top, height = self._at * (ROWS + 1), round(pane.scroll_offset.y), pane.size.height
        if not top <= row <= top + height - ROWS:
            pane.scroll_to(y=max(row - height // 3, 0), animate=False)

    def _ask_small(self) -> None:
        near = self.lines[max(self._at - AHEAD, 0) : self._at + AHEAD]
        wanted = [line.sha256 for line in near if line.sha256 not in self._small]
        if wanted:
            self.ask("small", lambda: self._made(wanted), self._small_came)

    def _made(self, wanted: list[str]) -> dict[str, Grid]:
        """In a worker. A photo that fails has no thumbnail: opening it says why."""
        from finishlog.errors import FinishlogError

        found = {}
        for sha in wanted:
            try:
                found[sha] = picture.grid(self.desks.picture(sha), CELLS, ROWS)
            except (FinishlogError, OSError):
                found[sha] = ()
        return found

    def _small_came(self, found: dict[str, Grid]) -> None:
        self._small |= found
        self.repaint()

    def action_open(self) -> None:
        from finishlog.tui.photo.photo import PhotoScreen

        if not self.lines or self._view is None:
            self.say("no photos yet: a adds some")
            return
        line = self.lines[self._at]
        self.app.push_screen(PhotoScreen(self._handle, self._title, line, self._view.areas, self._done))

    def action_pick(self, at: int) -> None:
        self.move(at - self._at)
        self.action_open()

    def action_view(self) -> None:
        from finishlog.tui.photo.view import ViewScreen

        if self.lines:
            self.app.push_screen(ViewScreen(self.lines, self._at))
        else:
            self.say("no photos yet: a adds some")

    def action_add(self) -> None:
        from finishlog.tui.photo.add import AddScreen

        areas = self._view.areas if self._view else ()
        self.app.push_screen(AddScreen(self._handle, self._title, areas, self._told))

    def _told(self, coming: str) -> None:
        """Progress of the import; empty when done."""
        self._coming = coming
        if self.is_running:
            self.query_one("#title").refresh()


def _states(line: PhotoLine) -> list[str]:
    return [
        {True: "damp", False: "dry", None: ""}[line.damp],
        {True: "sealed", False: "bare", None: ""}[line.sealed],
        (line.light or "").replace("_", " "),
    ]
