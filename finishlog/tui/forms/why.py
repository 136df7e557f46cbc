"""A doubt with no form behind it: give a reason, and it is done."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.forms.fields import asks
from finishlog.tui.forms.form import FormScreen

if TYPE_CHECKING:
    from finishlog.errors import InputError


class WhyScreen(FormScreen):
    """`go` gets the reason; Esc cancels."""

    SCOPE = "small"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Do it"
    NOTE = "Esc changes nothing"

    def __init__(self, title: str, doubt: InputError, go: Callable[[str], object]) -> None:
        super().__init__()
        self._title, self._go = title, go
        self._doubts = getattr(doubt, "doubts", (doubt.title,))

    @property
    def name_of_it(self) -> str:
        return self._title

    @property
    def sentence(self) -> str:
        return "If it is so, say why."

    def begin(self) -> None:
        reason = asks("reason", "Because", hint="why it is so", required="Say why.")
        self.call_after_refresh(self.build, [reason], None)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        self.app.pop_screen()
        self._go(texts["reason"])
