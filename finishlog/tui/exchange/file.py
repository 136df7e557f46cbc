"""Import, step 1: choose a file from a folder, or type its path."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Input

from finishlog.tui import actions
from finishlog.tui.exchange import paint
from finishlog.tui.paint.ink import Line
from finishlog.tui.screens.failure import Failure
from finishlog.tui.screens.frame import Frame
from finishlog.tui.screens.marked import Lines, MarkedScreen
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.desk.exchange.back import Wrote
    from finishlog.desk.exchange.folder import Folder, Found
    from finishlog.desk.exchange.table import Table


class ImportFile(MarkedScreen["Found"]):
    """A typed path opens a folder or a sheet, as Enter does in the list."""

    SCOPE = "import_file"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("import_file")
    NONE = "nothing here; Tab to type a path"

    def __init__(self) -> None:
        super().__init__()
        self._folder: Folder | None = None
        self._last: Wrote | None = None

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="find-row"):
            yield Block(id="find-label")
            yield Entry(id="path")
        yield Block(id="gap")
        with Horizontal(id="due"):
            with Vertical():
                with Lines():
                    yield self.make_list()
                yield Block(id="why")
            yield Block(id="aside")

    def on_mount(self) -> None:
        super().on_mount()
        self.query_one("#find-label", Block).show(lambda _: [Line().bold("File")])
        self.query_one("#gap", Block).show(lambda _: [] if self.low else [Line()])
        self._go("")

    def reread(self) -> None:
        """The folder may have changed; the mark stays."""
        if self._folder is not None:
            self._go(self._folder.path)
        self.ask("last", self.desks.last_import, self._last_came)

    def _last_came(self, last: Wrote | None) -> None:
        self._last = last
        self.repaint()

    def _go(self, text: str) -> None:
        beside = self._folder.path if self._folder else ""
        self.ask("folder", lambda: self.desks.import_folder(text, beside), self._came)

    def _came(self, found: Folder | Path) -> None:
        if isinstance(found, Path):
            self._look_at(found)
            return
        before, here = self.current, self._folder is not None and self._folder.path == found.path
        self._folder = found
        if not here:
            self.query_one(Entry).value = ""
            self.query_one(Lines).focus()
            self._mark = next((at for at, one in enumerate(found.found) if one.kind != "up"), 0)
        self.mark_again(before if here else None)

    # painting

    @property
    def lines(self) -> tuple[Found, ...]:
        return self._folder.found if self._folder else ()

    @staticmethod
    def key_of(line: Found) -> object:
        return line.path

    @property
    def sentence(self) -> str:
        if self._folder is None:
            return ""
        return paint.files_sentence(self._folder, self._last)

    def paint_title(self, width: int) -> list[Line]:
        where = paint.short(self._folder.path, width // 2) if self._folder else "reading…"
        return self.head("Bring in a paper log", where, width)

    def paint_lines(self, width: int) -> list[Line]:
        return paint.files(self.lines, self._mark, width) if self._folder else []

    def paint_why(self, width: int) -> list[Line]:
        return paint.file_why(self.current, self._folder, width)

    def paint_aside(self, width: int) -> list[Line]:
        return paint.file_aside(self.current, self._folder, width)

    # keys

    def action_open(self) -> None:
        self.with_line(lambda line: self._go(line.path))

    def action_up(self) -> None:
        """Open the parent folder."""
        up = next((line for line in self.lines if line.kind == "up"), None)
        if up is None:
            self.say("this is the top folder")
        else:
            self._go(up.path)

    @on(Input.Submitted, "#path")
    def _typed(self) -> None:
        self._go(self.query_one(Entry).value.strip() or "~")

    @on(Entry.Down)
    def _down(self) -> None:
        self.query_one(Lines).focus()

    def step_back(self) -> bool:
        if isinstance(self.focused, Entry):
            self.query_one(Lines).focus()
            return True
        return False

    def _look_at(self, path: Path) -> None:
        self.ask("sheet", lambda: self.desks.sheet_table(path, None), self._looked)

    def _looked(self, table: Table) -> None:
        """Skip the columns for a sheet of our own entries."""
        from finishlog.tui.exchange.columns import ImportColumns
        from finishlog.tui.exchange.preview import ImportPreview

        self.app.push_screen(ImportColumns(table) if table.guesses else ImportPreview(table))

    def action_undo(self) -> None:
        """Undo the last import."""
        if self._last is None:
            self.say("no import to undo")
            return
        first = self.app.screen_stack[0]
        call = self.desks.take_import_back
        (first if isinstance(first, Frame) else self).put(
            lambda: call(lambda *_: None), self._taken_back, self._kept_as_it_is
        )

    def _taken_back(self, sentence: str) -> None:
        self.house.done(sentence)
        self.house.changed()

    def _kept_as_it_is(self, error: Exception) -> None:
        self.app.push_screen(Failure(error))
