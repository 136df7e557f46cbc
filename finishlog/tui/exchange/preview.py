"""Import, step 3: the preview, then the import, all or nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.exchange import report as import_report
from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.text import plain
from finishlog.tui.running.work import seldom
from finishlog.tui.screens.failure import Failure
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from finishlog.desk.exchange.table import Table
    from finishlog.desk.exchange.write import Progress
    from finishlog.records.exchange import ImportReport

"""Seconds between progress reports."""


class ImportPreview(Frame):
    """A dry run on opening; the same table is written on confirmation."""

    SCOPE = "import_preview"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("import_preview")

    def __init__(self, table: Table) -> None:
        super().__init__()
        self._table = table
        self._report: ImportReport | None = None
        self._sent = False
        self._over = False
        self._sofar = ""

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Pane():
            yield Block(id="report")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#report", Block).show(self._paint_report)
        self.query_one(Pane).focus()
        self.ask("check", lambda: self.desks.check_sheet(self._table), self._came, self.not_begun)

    def reread(self) -> None:
        """The log changed, so preview again."""
        if not self._sent:
            self.ask("check", lambda: self.desks.check_sheet(self._table), self._came)

    def _came(self, report: ImportReport) -> None:
        self._report = report
        self.repaint()

    # painting

    @property
    def sentence(self) -> str:
        return import_report.sentence(self._report) if self._report else "Reading the sheet…"

    def _paint_title(self, width: int) -> list[Line]:
        rows = import_report.counted(self._report.rows, "row") if self._report else "reading…"
        tone = "warn" if self._report and self._report.bad else "text"
        name = f"Preview · {plain(self._table.path.name)}"
        return self.head(name, self._sofar or rows, width, tone=tone)

    def _paint_report(self, width: int) -> list[Line]:
        return import_report.page(self._report, self._table.titles, width) if self._report else []

    # keys

    def action_back(self) -> None:
        if not self.step_back():
            self.app.pop_screen()

    def step_back(self) -> bool:
        """Stay until the write is done."""
        if self._sent:
            self.say("writing…")
        return self._sent

    def action_save(self) -> None:
        """Write through the base screen: the result is reported even if the user left."""
        report = self._report
        if report is None or self._sent:
            return
        if report.bad or report.questions:
            self.say("nothing comes in yet: fix what is refused; Left changes a column", 6)
        elif not import_report.is_something(report):
            self.say("nothing new in it")
        else:
            self._sent = True
            first, desks, table = self.app.screen_stack[0], self.desks, self._table
            tell = self._progress(self.app.call_later)
            under = first if isinstance(first, Frame) else self
            under.put(lambda: desks.bring_in(table, tell), self._done, self._stopped)

    def _progress(self, later: Callable[..., object]) -> Progress:
        return seldom(lambda done, total: later(self._tell, f"{done:,} of {total:,} written…"))

    def _tell(self, sofar: str) -> None:
        self._sofar = sofar
        if self.is_running:
            self.query_one("#title", Block).repaint()

    def _done(self, report: ImportReport) -> None:
        if not report.written:
            self._sent, self._report = False, report
            self._tell("")
            self.repaint()
            return
        self.house.done(import_report.done(report))
        self.house.changed()
        self._close()

    def on_screen_resume(self) -> None:
        if self._over:
            self.house.action_place("jobs")

    def _close(self) -> None:
        """Go to Jobs, where the new jobs are; from another place, once this one shows again."""
        self._over = True
        if self.app.screen is self:
            self.house.action_place("jobs")

    def _stopped(self, error: Exception) -> None:
        self._sent = False
        self._tell("")
        self.app.push_screen(Failure(error))
