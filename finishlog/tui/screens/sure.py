"""A question before changing others' entries: y does it, Esc cancels, Enter does nothing."""

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

    from finishlog.errors import InputError


class SureScreen(ModalScreen[None]):
    """Closes first, then calls `yes`."""

    BINDINGS: ClassVar[list[BindingType]] = [("y", "yes"), ("escape", "leave")]

    def __init__(self, asked: InputError, yes: Callable[[], object]) -> None:
        super().__init__()
        self.asked, self._yes = asked, yes

    def compose(self) -> ComposeResult:
        with Vertical(id="dialog"):
            yield Block()

    def on_mount(self) -> None:
        self.query_one(Block).show(self._paint)

    def _paint(self, width: int) -> list[Line]:
        lines = paragraph(self.asked.title, width, bold=True)
        lines += [Line(), *paragraph(self.asked.cause, width)] if self.asked.cause else []
        keys = Line().bold("y", "accent").put(" yes", act="yes").gap(3)
        keys.put("Esc", "accent", bold=True, act="leave").put(" no", act="leave")
        return [*lines, Line(), keys]

    def action_yes(self) -> None:
        self.dismiss()
        self._yes()

    def action_leave(self) -> None:
        self.dismiss()
