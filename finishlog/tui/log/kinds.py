"""What is to be logged: all kinds in the order of the work, fewer as one types their first letters."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.widgets import Input

from finishlog.tui import actions
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

Kind = tuple[str, str]
"""Key and title."""
DAY_CARD = ("day_card", "Day card, a whole pour")


class KindScreen(Frame):
    SCOPE = "kinds"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("kinds")

    def __init__(self, handle: str, title: str, half: tuple[str, ...]) -> None:
        super().__init__()
        self._handle, self._title, self._half = handle, title, half
        self._kinds: tuple[Kind, ...] = ()
        self._mark = 0

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Horizontal(id="find-row"):
            yield Block(id="find-label")
            yield Entry(id="kind")
        yield Block(id="gap")
        with Pane(can_focus=False):
            yield Block(id="kinds")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#find-label", Block).show(lambda _: [Line().bold("Log")])
        self.query_one("#gap", Block).show(lambda _: [Line()])
        self.query_one("#kinds", Block).show(self._paint_kinds)
        self.query_one(Entry).focus()
        self.ask("kinds", self.desks.kinds, self._came)

    def _came(self, kinds: tuple[Kind, ...]) -> None:
        self._kinds = kinds = (DAY_CARD, *kinds)
        half = [at for at, (key, _) in enumerate(kinds) if key in self._half]
        self._mark = half[0] if half else 1
        self._show()

    @property
    def stands(self) -> bool:
        return bool(self._kinds)

    @property
    def sentence(self) -> str:
        titles = {key: title.lower() for key, title in self._kinds}
        half = [titles[key] for key in self._half if key in titles]
        return f"Unfinished: {', '.join(half)}. Enter continues." if half else "What was done?"

    @property
    def fitting(self) -> list[Kind]:
        """Those with a word that begins as typed; those that begin so themselves come first."""
        typed = self.query_one(Entry).value.strip().casefold()
        found = [kind for kind in self._kinds if f" {typed}" in f" {kind[1].casefold()}"]
        return sorted(found, key=lambda kind: not kind[1].casefold().startswith(typed)) if typed else found

    def _paint_title(self, width: int) -> list[Line]:
        return self.head(f"Log · {self._title}", "", width)

    def _paint_kinds(self, width: int) -> list[Line]:
        lines = []
        for at, (key, title) in enumerate(self.fitting):
            here = at == self._mark
            line = Line().put("► " if here else "  ", "accent")
            line.put(title, "accent" if here else "text", bold=here, act=f"pick({at})")
            lines.append(line.to(34).muted("unfinished" if key in self._half else ""))
        if not lines and self._kinds:
            return paragraph("No entry type matches. Backspace shows all.", width, "muted")
        return lines

    # keys

    @on(Input.Changed)
    def _typed(self) -> None:
        if self.query_one(Entry).value or self._kinds:
            self._mark = 0 if self.query_one(Entry).value else self._mark
            self._show()

    @on(Entry.Down)
    def _down(self) -> None:
        self._mark = min(self._mark + 1, max(len(self.fitting) - 1, 0))
        self._show()

    @on(Entry.Up)
    def _up(self) -> None:
        self._mark = max(self._mark - 1, 0)
        self._show()

    def _show(self) -> None:
        self.repaint()
        pane = self.query_one(Pane)
        low = self._mark - max(pane.size.height - 2, 0)
        if pane.scroll_offset.y > self._mark or pane.scroll_offset.y < low:
            pane.scroll_to(y=max(low, 0), animate=False)

    def action_pick(self, at: int) -> None:
        self._mark = at
        self.action_open()

    @on(Input.Submitted)
    def action_open(self) -> None:
        from finishlog.tui.log.day import DayScreen
        from finishlog.tui.log.entry import LogScreen

        found = self.fitting
        if self._mark >= len(found):
            return
        kind = found[self._mark][0]
        if kind == DAY_CARD[0]:
            self.app.switch_screen(DayScreen(self._handle, self._title))
        else:
            self.app.switch_screen(LogScreen(self._handle, self._title, kind))
