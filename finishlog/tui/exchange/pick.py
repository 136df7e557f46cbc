"""What a column may be, likeliest first; typing narrows the list."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.paint.text import plain
from finishlog.tui.screens.pick_list import PickList

if TYPE_CHECKING:
    from collections.abc import Callable

Choice = tuple[str, str, str]
"""Value, title and what it means."""


class PickScreen(PickList):
    """`chosen` is called with the value, after this screen has closed."""

    SCOPE = "import_pick"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("import_pick")
    LABEL = "Is"

    def __init__(
        self, header: str, samples: tuple[str, ...], asked: str, choices: tuple[Choice, ...],
        chosen: Callable[[str], object],
    ) -> None:  # fmt: skip
        super().__init__()
        self._header, self._samples, self._asked = header, samples, asked
        self._choices, self._chosen = choices, chosen

    @property
    def named(self) -> str:
        return f"Column · {plain(self._header)}"

    @property
    def sentence(self) -> str:
        cells = ", ".join(f"“{plain(text)[:24]}”" for text in self._samples)
        return self._asked or (f"Which column? It holds {cells}." if cells else "Which column? It is empty.")

    def paint_gap(self, _width: int) -> list[Line]:
        return [] if self.low else [Line()]

    def paint_choices(self, width: int) -> list[Line]:
        lines = []
        wide = max((len(title) for _, title, _ in self.fitting), default=0)
        for at, (_, title, told) in enumerate(self.fitting):
            here = at == self._mark
            line = Line().put("▌ " if here else "  ", "accent")
            line.put(title, bold=here, act=f"pick({at})").to(min(max(wide + 4, 20), 36))
            lines.append(line.muted(told).crop(width).on("cursor" if here else "ground", width))
        return lines or paragraph("No field matches. Backspace shows all.", width, "muted")

    def take(self, value: str) -> None:
        self.app.pop_screen()
        self._chosen(value)
