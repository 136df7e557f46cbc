"""What to log: kinds in order of work; typing narrows them."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.screens.pick_list import PickList

Kind = tuple[str, str]
"""Key and title."""
DAY_CARD = ("day_card", "Day card, a whole pour")


class KindScreen(PickList):
    """`half` are the kinds with an unfinished entry; they are marked."""

    SCOPE = "kinds"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("kinds")
    LABEL = "Log"

    def __init__(self, handle: str, title: str, half: tuple[str, ...]) -> None:
        super().__init__()
        self._handle, self._title, self._half = handle, title, half

    def begin(self) -> None:
        self.ask("kinds", self.desks.kinds, self._came)

    def _came(self, kinds: tuple[Kind, ...]) -> None:
        self._choices = kinds = (DAY_CARD, *kinds)
        half = [at for at, (key, _) in enumerate(kinds) if key in self._half]
        self._mark = half[0] if half else 1
        self.show_mark()

    @property
    def stands(self) -> bool:
        return bool(self._choices)

    @property
    def named(self) -> str:
        return f"Log · {self._title}"

    @property
    def sentence(self) -> str:
        titles = {key: title.lower() for key, title in self._choices}
        half = [titles[key] for key in self._half if key in titles]
        return f"Unfinished: {', '.join(half)}. Enter continues." if half else "What was done?"

    def paint_choices(self, width: int) -> list[Line]:
        lines = []
        for at, (key, title) in enumerate(self.fitting):
            here = at == self._mark
            line = Line().put("► " if here else "  ", "accent")
            line.put(title, "accent" if here else "text", bold=here, act=f"pick({at})")
            lines.append(line.to(34).muted("unfinished" if key in self._half else ""))
        if not lines and self._choices:
            return paragraph("No entry type matches. Backspace shows all.", width, "muted")
        return lines

    def mark_after(self, typed: str) -> int:
        return 0 if typed else self._mark

    def take(self, value: str) -> None:
        from finishlog.tui.log.day import DayScreen
        from finishlog.tui.log.entry import LogScreen

        if value == DAY_CARD[0]:
            self.app.switch_screen(DayScreen(self._handle, self._title))
        else:
            self.app.switch_screen(LogScreen(self._handle, self._title, value))
