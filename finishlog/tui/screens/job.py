"""One job: its face on top, under it what went in, what was done, how it looked, its care."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.containers import Vertical

from finishlog.tui import actions, painting, wording
from finishlog.tui.ink import Line, rule
from finishlog.tui.screens import job_paint
from finishlog.tui.screens.frame import HIGH, WIDE, Frame
from finishlog.tui.widgets.bars import Footer
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.records.log import JobLine
    from finishlog.tui.desks import JobView


class JobScreen(Frame):
    SCOPE = "job"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("job")

    def __init__(self, line: JobLine) -> None:
        super().__init__()
        self._line = line
        self._view: JobView | None = None
        self._part = 0

    def compose_body(self) -> ComposeResult:
        with Vertical(id="head"):
            yield Block(id="title")
            yield Block(id="strip")
            yield Block(id="tabs")
        with Pane():
            yield Block(id="part")

    def on_mount(self) -> None:
        for name, painter in (
            ("title", self._paint_title), ("strip", self._paint_strip), ("tabs", self._paint_tabs),
            ("part", self._paint_part),
        ):  # fmt: skip
            self.query_one(f"#{name}", Block).show(painter)
        self.query_one(Pane).focus()
        self.reread()

    def reread(self) -> None:
        self.ask("job", lambda: self.desks.job(self._line.handle), self._came)

    def _came(self, view: JobView) -> None:
        self._view = view
        self._line = view.page.line
        self.repaint()

    @property
    def sentence(self) -> str:
        return self._view.page.sentence if self._view else ""

    def resized(self, width: int) -> None:
        self.query_one(Footer).hide(*(["job.next"] if width >= WIDE else []))
        super().resized(width)

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        fact = self.busy or (wording.poured(self._view) if self._view else wording.when(self._line))
        lines = painting.title(wording.name(self._line), fact, self.sentence, width)
        if self.house.depth != "full":
            lines.append(Line().muted(wording.CANNOT_SHOW).crop(width))
        return lines

    def _paint_strip(self, width: int) -> list[Line]:
        if self._view is None:
            return []
        rows = 4 if self.size.height >= HIGH else 2
        lines = job_paint.strip(
            self._view, width, rows, self.house.depth, self.house.palette.dark, figures=self.wide
        )
        return [Line(), *lines] if self.size.height > 20 else lines

    def _paint_tabs(self, width: int) -> list[Line]:
        gap = [Line()] if self.size.height > 20 else []
        return (
            gap
            if self.wide
            else [*gap, painting.tabs(job_paint.PARTS, self._part, "part_to({})"), rule(width)]
        )

    def _paint_part(self, width: int) -> list[Line]:
        if self._view is None:
            return []
        return (
            job_paint.wide(self._view, width) if self.wide else job_paint.part(self._view, self._part, width)
        )

    # keys

    def action_part(self, by: int) -> None:
        self.action_part_to((self._part + by) % len(job_paint.PARTS))

    def action_part_to(self, index: int) -> None:
        self._part = index
        self.query_one(Pane).scroll_home(animate=False)
        self.repaint()

    def action_match(self) -> None:
        from finishlog.tui.screens.measure import MeasureScreen

        self.app.push_screen(MeasureScreen(self._line.handle))
