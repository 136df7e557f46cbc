"""Choose photos from a folder: name, date, thumbnail; newest first, by pages."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.binding import BindingType
from textual.containers import Horizontal

from finishlog.errors import FinishlogError
from finishlog.tui import actions
from finishlog.tui.forms.fields import said
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.photo import choose_paint, picture
from finishlog.tui.photo.picture_pane import PicturePane
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from textual.app import ComposeResult

    from finishlog.desk.photo.folder import Folder, Listed, Peek

AT_ONCE = 3
"""Pictures read per call, so the list fills gradually."""


class Files(Pane):
    """Keys of a list that turns pages instead of scrolling."""

    def action_scroll_up(self) -> None:
        cast(ChooseScreen, self.screen).move(-1)

    def action_scroll_down(self) -> None:
        cast(ChooseScreen, self.screen).move(1)

    def action_page_up(self) -> None:
        cast(ChooseScreen, self.screen).turn(-1)

    def action_page_down(self) -> None:
        cast(ChooseScreen, self.screen).turn(1)

    def action_scroll_home(self) -> None:
        cast(ChooseScreen, self.screen).move(-(10**9))

    def action_scroll_end(self) -> None:
        cast(ChooseScreen, self.screen).move(10**9)


class ChooseScreen(Frame):
    """Starts in folder `begin`, or the last one if blank; `done` takes the folder and the choice."""

    SCOPE = "choose"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("choose")

    def __init__(self, begin: str, done: Callable[[Path, tuple[Path, ...]], object]) -> None:
        super().__init__()
        self._begin, self._done = begin, done
        self._folder: Folder | None = None
        self._at = 0
        self._marked: dict[Path, None] = {}
        self._peeks: dict[Path, tuple[Peek, picture.Grid]] = {}
        self._wrong = ""

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="photo-row"):
            with Files(id="list"):
                yield Block(id="files")
            yield PicturePane(id="marked")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#files", Block).show(self._paint_files)
        self.query_one(Files).focus()
        self._look_into(self._begin)

    def _look_into(self, path: str, under: Path | None = None) -> None:
        last = self.house.machine.last_photos
        self.ask(
            "folder",
            lambda: self.desks.photo_folder(path, last),
            lambda found: self._came(found, under),
            self._no,
        )

    def _came(self, found: Folder, under: Path | None) -> None:
        self._folder, self._wrong = found, ""
        self._at = next((at for at, item in enumerate(self.items) if item.path == under), len(found.folders))
        self.move(0)

    def _no(self, error: Exception) -> None:
        """Keep the current list; if there is none yet, show the usual photo folder."""
        if not isinstance(error, FinishlogError):
            self.fail(error)
            return
        self._wrong = said(error)
        if self._folder is None and self._begin:
            self._begin = ""
            self.ask(
                "folder", lambda: self.desks.photo_folder(""), lambda found: self._fell_back(found), self.fail
            )
        self.repaint()

    def _fell_back(self, found: Folder) -> None:
        wrong = self._wrong
        self._came(found, None)
        self._wrong = wrong
        self.repaint()

    @property
    def items(self) -> tuple[Listed, ...]:
        """Folders first, then pictures; empty until read."""
        return (*self._folder.folders, *self._folder.pictures) if self._folder else ()

    @property
    def current(self) -> Listed | None:
        """None in an empty folder."""
        return self.items[self._at] if self._at < len(self.items) else None

    @property
    def sentence(self) -> str:
        return choose_paint.sentence(self._folder, len(self._marked)) if self._folder else ""

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        wrong = paragraph(self._wrong, width, "bad")[:2] if self._wrong else []
        name = self._folder.name if self._folder else ""
        fact = choose_paint.counted(self._folder) if self._folder else "reading…"
        notes = wording.cannot_show(self.house.depth, width) if self.items else []
        return self.head(choose_paint.folder_name(name, width - len(fact) - 2), fact, width, *wrong, *notes)

    @property
    def _room(self) -> int:
        return max(self.query_one(Files).size.height, choose_paint.HIGH)

    @property
    def _page(self) -> range:
        return choose_paint.page(self.items, self._at, self._room)

    def _paint_files(self, width: int) -> list[Line]:
        shades = (self.house.depth, self.house.palette.dark)
        zone = self.house.services.zone
        lines: list[Line] = []
        for at in self._page:
            item = self.items[at]
            peek = self._peeks.get(item.path)
            lines += choose_paint.row(item, at, peek, width, shades, zone, here=at == self._at,
                                      marked=item.path in self._marked)  # fmt: skip
        return lines or (paragraph("No photos in this folder. Left goes up one folder.", width, "muted")
                         if self._folder else [])  # fmt: skip

    def resized(self, width: int) -> None:
        super().resized(width)
        self.call_after_refresh(self.move, 0)

    # keys

    def move(self, by: int) -> None:
        """Moves the mark by so many items, within the list."""
        self._at = min(max(self._at + by, 0), max(len(self.items) - 1, 0))
        self.repaint()
        self._peek_on()

    def turn(self, by: int) -> None:
        """To the next page's first item, or the previous page's last."""
        page = self._page
        if page:
            self.move((page.stop if by > 0 else page.start - 1) - self._at)

    def _peek_on(self) -> None:
        """Read the marked picture first, then the rest of the page."""
        near = [self._at, *self._page] if self.items else []
        wanted = [self.items[at].path for at in dict.fromkeys(near)
                  if not self.items[at].is_folder and self.items[at].path not in self._peeks][:AT_ONCE]  # fmt: skip
        if wanted:
            self.ask("peek", lambda: self._peeked(wanted), self._peeks_came)
        now = self._peeks.get(self.current.path) if self.current else None
        self.query_one(PicturePane).show(now[0].small if now else b"")

    def _peeked(self, wanted: list[Path]) -> dict[Path, tuple[Peek, picture.Grid]]:
        """In a worker."""
        found = {}
        for path in wanted:
            peek = self.desks.peek(str(path))
            grid = picture.grid(peek.small, choose_paint.CELLS, choose_paint.ROWS) if peek.small else ()
            found[path] = (peek, grid)
        return found

    def _peeks_came(self, found: dict[Path, tuple[Peek, picture.Grid]]) -> None:
        self._peeks |= found
        self.repaint()
        self._peek_on()

    def action_pick(self, at: int) -> None:
        self._at = at
        self.move(0)

    def action_mark(self) -> None:
        """Toggle and go to the next, so one repeated key marks several."""
        item = self.current
        if item is None or item.is_folder:
            self.say("Space marks a photo; Enter opens a folder")
            return
        if item.path in self._marked:
            del self._marked[item.path]
        else:
            self._marked[item.path] = None
        self.move(1)

    def action_mark_all(self) -> None:
        pictures = {item.path: None for item in self._folder.pictures} if self._folder else {}
        self._marked = {} if pictures.keys() <= self._marked.keys() else self._marked | pictures
        self.repaint()

    def action_take(self) -> None:
        """Take the checked photos, else the marked one; a folder opens."""
        item = self.current
        if item is not None and item.is_folder:
            self._look_into(str(item.path))
            return
        chosen = tuple(self._marked) or ((item.path,) if item else ())
        if not chosen or self._folder is None:
            self.say("nothing to take here")
            return
        self.app.pop_screen()
        self._done(self._folder.path, chosen)

    def action_above(self) -> None:
        if self._folder is not None and self._folder.path.parent != self._folder.path:
            self._look_into(str(self._folder.path.parent), self._folder.path)
