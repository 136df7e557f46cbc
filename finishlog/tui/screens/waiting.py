"""Over any screen: another program is writing to the log, and Esc ends the wait."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual.app import ComposeResult


class Waiting(ModalScreen[None]):
    """Stays until `close`; Esc calls `end`, and what was typed stays under it."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "end")]

    def __init__(self, end: Callable[[], None]) -> None:
        super().__init__()
        self._end = end
        self._ended = self._over = False

    def compose(self) -> ComposeResult:
        with Vertical(id="dialog"):
            yield Block()

    def on_mount(self) -> None:
        self.query_one(Block).show(self._paint)

    def _paint(self, width: int) -> list[Line]:
        lines = paragraph("Another program is writing; waiting…", width, bold=True)
        lines += [Line(), *paragraph("Nothing is written yet. What you typed stays.", width), Line()]
        said = (
            Line().muted("ending…")
            if self._ended
            else Line().bold("Esc", "accent").put(" end the wait", act="end")
        )
        return [*lines, said]

    def action_end(self) -> None:
        self._ended = True
        self._end()
        self.query_one(Block).repaint()

    def close(self) -> None:
        """The wait is over; a dialog over this one stays."""
        self._over = True
        if self.is_current:
            self.dismiss()

    def on_screen_resume(self) -> None:
        if self._over:
            self.dismiss()
