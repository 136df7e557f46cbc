"""Recipes that are one finish: joined with Enter, parted with u."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.forms.fields import asks
from finishlog.tui.forms.form import FormScreen
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.screens.marked import MARK, MarkedScreen
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.desk.color.recipes import Group, Offered

ROW = 2
"""Columns before a row's text: the mark."""


class RecipesScreen(MarkedScreen["Group"]):
    """Each finish that is written down as several recipes."""

    SCOPE = "recipes"
    FOLLOWS = True
    NONE = "no finish marked"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("recipes")

    def __init__(self) -> None:
        super().__init__()
        self._found: Offered | None = None

    def reread(self) -> None:
        self.ask("recipes", self.desks.recipe_groups, self._came)

    def _came(self, found: Offered) -> None:
        before = self.current
        self._found = found
        self.mark_again(before)

    @property
    def lines(self) -> tuple[Group, ...]:
        return self._found.groups if self._found is not None else ()

    @staticmethod
    def key_of(line: Group) -> object:
        return line.families[0].uid

    @property
    def sentence(self) -> str:
        if self._found is None:
            return ""
        among = f" Among the {self._found.newest} jobs logged last." if self._found.newest else ""
        if not self.lines:
            return f"No two recipes are one finish.{among}"
        offered = sum(len(group.open) for group in self.lines)
        said = f"{count(offered, 'recipe')} could be joined." if offered else "All that can be is joined."
        return f"{said}{among}"

    def paint_title(self, width: int) -> list[Line]:
        return self.head("Recipes", "one finish, several recipes", width)

    def paint_lines(self, width: int) -> list[Line]:
        return [line for at, group in enumerate(self.lines) for line in self._row_of(at, group, width)]

    def _row_of(self, at: int, group: Group, width: int) -> list[Line]:
        """The finish in as many rows as it needs, its state at the first."""
        marked = at == self._mark
        state = f"{len(group.open)} to join" if group.open else "joined" if group.joined else "parted"
        lines = paragraph(f"{count(len(group.families), 'recipe')}: {group.said}", max(width - ROW - 12, 20))
        found = []
        for number, line in enumerate(lines):
            row = Line().put(f"{MARK} " if marked and not number else "  ", "accent" if marked else "text")
            row.bold(line.text) if marked else row.put(line.text)
            if not number:
                row.to(width - len(state)).put(state, "warn" if group.open else "muted")
            found.append(row)
        return found

    def paint_why(self, width: int) -> list[Line]:
        return self.paint_aside(width)

    def paint_aside(self, width: int) -> list[Line]:
        from finishlog.desk.color.recipe_words import details

        if self.current is None:
            return []
        return [row for text in details(self.current) for row in paragraph(text, width)]

    # keys

    def action_open(self) -> None:
        self.with_line(self._join)

    def _join(self, group: Group) -> None:
        if not group.open:
            self.say("nothing to join here")
            return
        text = f"{count(len(group.open), 'recipe')} will count as one with that of {group.families[0].job}."
        self._ask(text, lambda by: self.desks.join_recipes(group, by), "joined")

    def action_undo(self) -> None:
        self.with_line(self._part)

    def _part(self, group: Group) -> None:
        if not group.joined:
            self.say("nothing joined here")
            return
        text = f"{count(len(group.joined), 'recipe')} will stand alone again."
        self._ask(text, lambda by: self.desks.part_recipes(group, by), "parted")

    def _ask(self, text: str, do: Callable[[str | None], int], done: str) -> None:
        def go(by: str) -> None:
            self.put(lambda: do(by or None), lambda number: self._done(number, done))

        self.app.push_screen(WhoScreen(text, go))

    def _done(self, number: int, done: str) -> None:
        self.house.done(f"{count(number, 'recipe')} {done}.")
        self.house.changed()


class WhoScreen(FormScreen):
    """Who says so; `go` gets the name, blank: nobody named. Esc changes nothing."""

    SCOPE = "small"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Do it"
    NOTE = "Esc changes nothing"

    def __init__(self, text: str, go: Callable[[str], object]) -> None:
        super().__init__()
        self._text, self._go = text, go

    @property
    def name_of_it(self) -> str:
        return "Recipes"

    @property
    def sentence(self) -> str:
        return self._text

    def begin(self) -> None:
        self.call_after_refresh(self.build, [asks("by", "Who says so", hint="kept with it")], None)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        self.app.pop_screen()
        self._go(texts["by"].strip())
