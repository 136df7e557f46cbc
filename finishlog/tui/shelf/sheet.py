"""Limits from a sealer's own sheet; once saved, slabs are judged by them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.forms.fields import asks
from finishlog.tui.forms.meeting import Meeting

if TYPE_CHECKING:
    from finishlog.records.shelf import ShelfLine
    from finishlog.tui.desks.office import SheetForm

KIND = "sealer"
GROUPS = ("sealer-age", "sealer-recoat-from")
"""Fields that start a group."""


class SheetScreen(Meeting):
    """A blank is unknown; the shop's usual limit applies, and the hint shows it."""

    SCOPE = "small"
    PLACE = "shelf"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Save it"
    NOTE = "Esc changes nothing"

    def __init__(self, line: ShelfLine) -> None:
        super().__init__()
        self._line = line

    @property
    def name_of_it(self) -> str:
        return f"Sealer's sheet · {self._line.held.product.name}"

    @property
    def sentence(self) -> str:
        return "What does its own sheet allow? Blank uses the shop's default."

    def begin(self) -> None:
        units = self.house.units
        self.ask("sheet", lambda: self.desks.sheet(self._line, units), self._came, self.not_begun)

    async def _came(self, form: SheetForm) -> None:
        from finishlog.inputs.weather import SEALER

        specs = [
            asks(option, title, _reader(option), start=form.texts.get(option, ""), gap=option in GROUPS,
                 hint=f"usual {form.usual[option]}")
            for option, _, title, _ in SEALER
        ]  # fmt: skip
        await self.build(specs, None)

    def now(self) -> tuple[None, Mapping[str, str]]:
        return None, self.desks.sheet(self._line, self.house.units).texts

    def renew(self, source: None) -> None:
        """The fields hold all of it."""

    def send(self, texts: dict[str, str], because: str | None) -> None:
        read = self.read_first
        changed = {key: text for key, text in texts.items() if text.strip() != read.get(key, "")}
        self.keep(lambda: self.desks.keep_sheet(self._line, changed), self.finished)


def _reader(option: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        from finishlog.inputs.weather import read_limits

        try:
            read_limits({option: text})
        except InputError as wrong:
            raise InputError(wrong.title, wrong.cause, example=wrong.example) from None
        return ""

    return read
