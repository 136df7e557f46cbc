"""Shelf: the lots that stand there, what is left of each, what runs out with what is planned."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.ink import Line, paragraph
from finishlog.tui.screens import shelf_paint
from finishlog.tui.screens.marked import WHY, MarkedScreen

if TYPE_CHECKING:
    from finishlog.records.shelf import Moved, ShelfLine
    from finishlog.tui.desks_office import ShelfView


class ShelfScreen(MarkedScreen):
    SCOPE = "shelf"
    PLACE = "shelf"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("shelf")

    def __init__(self) -> None:
        super().__init__()
        self._found: ShelfView | None = None
        self._logged: list[int] = []

    def reread(self) -> None:
        self.ask("shelf", self.desks.shelf, self._came)

    def _came(self, found: ShelfView) -> None:
        """The mark stays on its lot, or where that stood."""
        marked = _key(self.current) if self.current else None
        keys = [_key(line) for line in found.shelf.lines]
        self._found = found
        self.put_mark(keys.index(marked) if marked in keys else self._mark)

    @property
    def lines(self) -> tuple[ShelfLine, ...]:
        return self._found.shelf.lines if self._found else ()

    @property
    def count(self) -> int:
        return len(self.lines)

    @property
    def current(self) -> ShelfLine | None:
        return self.lines[self._mark] if self._mark < self.count else None

    @property
    def sentence(self) -> str:
        if self._found is None:
            return ""
        return self._found.shelf.sentence if self.lines else "Nothing is on the shelf yet."

    # painting

    def paint_title(self, width: int) -> list[Line]:
        lots = f"{self.count} {'lot' if self.count == 1 else 'lots'}"
        return self.head("Shelf", lots if self._found else "reading…", width)

    def paint_lines(self, width: int) -> list[Line]:
        if self._found is None:
            return []
        if not self.lines:
            return paragraph(shelf_paint.EMPTY, width - 2, "muted", indent=2)
        return shelf_paint.page(self._found, self._mark, width)

    def paint_why(self, width: int) -> list[Line]:
        return shelf_paint.why(self._found, self.current, WHY, width) if self._found else []

    def paint_aside(self, width: int) -> list[Line]:
        return shelf_paint.aside(self._found, self.current, width) if self._found else []

    # keys

    def _with_line(self, call: Callable[[ShelfLine], object]) -> None:
        if self.current is None:
            self.say("no lot is marked; i writes down what was bought")
        else:
            call(self.current)

    def action_open(self) -> None:
        self._with_line(lambda line: self._form("count", line))

    def action_log(self) -> None:
        self._with_line(lambda line: self._form("reclaim", line))

    def action_new(self) -> None:
        self._form("buy", None)

    def _form(self, verb: str, line: ShelfLine | None) -> None:
        from finishlog.tui.screens.shelf_form import MoveScreen, start_of

        kind = line.held.product.kind if line else None
        self.app.push_screen(MoveScreen(verb, start_of(line), kind, self._logged.append))

    def action_paper(self) -> None:
        from finishlog.tui.screens.shelf_form import LabelPaper

        self._with_line(lambda line: self.app.push_screen(LabelPaper(line)))

    def action_undo(self) -> None:
        """Take back what was written last from here."""
        if not self._logged:
            self.say("nothing was written from here yet")
            return
        number = self._logged.pop()
        self.put(lambda: self.desks.undo_move(number), self._undone)

    def _undone(self, moved: Moved) -> None:
        self.house.done(moved.sentence)
        self.house.changed()


def _key(line: ShelfLine) -> tuple[str, str | None]:
    """What makes a lot the same one after it was read again."""
    return line.held.product.uid, line.held.lot
