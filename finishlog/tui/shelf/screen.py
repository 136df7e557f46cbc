"""Shelf: the lots, what is left, what planned jobs use up."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.trade.shelf import POWDER
from finishlog.tui import actions
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.screens.marked import WHY
from finishlog.tui.screens.paged import PagedScreen
from finishlog.tui.screens.pages import PAGE, around, place
from finishlog.tui.shelf import paint

if TYPE_CHECKING:
    from finishlog.records.shelf import Moved, ShelfLine
    from finishlog.tui.desks.office import ShelfView


class ShelfScreen(PagedScreen["ShelfLine"]):
    """Lots, those that run out first on top."""

    SCOPE = "shelf"
    PLACE = "shelf"
    FOLLOWS = True
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("shelf")
    NONE = "no lot marked; i adds a purchase"

    def __init__(self) -> None:
        super().__init__()
        self._found: ShelfView | None = None
        self._logged: list[int] = []
        self._taken: list[int] = []

    def reread(self) -> None:
        units = self.house.units
        limit, offset = around(self._mark)

        def came(found: ShelfView) -> None:
            row, self._found = self._row_now(), found
            self.filled(found.shelf.lines, offset, found.shelf.total, row)

        self.ask("shelf", lambda: self.desks.shelf(units, limit, offset), came)

    def read_page(self, offset: int) -> None:
        units = self.house.units

        def came(found: ShelfView) -> None:
            if self._found is not None:
                self._found = self._found.and_of(found)
            self.page_came(found.shelf.lines, offset, found.shelf.total)

        self.ask(f"page {offset}", lambda: self.desks.shelf(units, PAGE, offset), came)

    @staticmethod
    def key_of(line: ShelfLine) -> object:
        return line.held.product.uid, line.held.lot

    @property
    def sentence(self) -> str:
        if self._found is None:
            return ""
        return self._found.shelf.sentence if self.count else "The shelf is empty."

    # painting

    def paint_title(self, width: int) -> list[Line]:
        whole = f"{self.count} {'lot' if self.count == 1 else 'lots'}"
        lots = place(self._mark, self.count) or whole
        return self.head("Shelf", lots if self._found else "reading…", width)

    def row_count(self, width: int) -> int:
        return self.count or (len(self._nothing(width)) if self._found else 0)

    def row_of(self, index: int, width: int) -> int:
        return index

    def paint_row(self, y: int, width: int) -> tuple[Line, int | None]:
        if not self.count:
            return self._nothing(width)[y], None
        line = self.pages.at(y)
        if line is None:
            return paint.missing(width, here=y == self._mark), y
        return paint.row(line, y, width, here=y == self._mark), None

    def _nothing(self, width: int) -> list[Line]:
        return paragraph(paint.EMPTY, width - 2, "muted", indent=2)

    def paint_why(self, width: int) -> list[Line]:
        return paint.why(self._found, self.current, WHY, width) if self._found else []

    def paint_aside(self, width: int) -> list[Line]:
        return paint.aside(self._found, self.current, width, self.house.units) if self._found else []

    # keys

    def action_open(self) -> None:
        self.with_line(lambda line: self._form("count", line))

    def action_log(self) -> None:
        def opened(line: ShelfLine) -> None:
            powder = line.held.product.kind == POWDER
            self._form("reclaim" if powder else "open", line)

        self.with_line(opened)

    def action_new(self) -> None:
        self._form("buy", None)

    def _form(self, verb: str, line: ShelfLine | None) -> None:
        from finishlog.tui.shelf.form import MoveScreen, start_of

        kind = line.held.product.kind if line else None
        self.app.push_screen(MoveScreen(verb, start_of(line), kind, self._logged.append))

    def action_paper(self) -> None:
        from finishlog.tui.shelf.form import LabelPaper

        def opened(line: ShelfLine) -> None:
            if line.held.reclaimed:
                self.app.push_screen(LabelPaper(line))
            else:
                self.say("none reclaimed yet; l logs that")

        self.with_line(opened)

    def action_sheet(self) -> None:
        from finishlog.tui.shelf.sheet import KIND, SheetScreen

        def opened(line: ShelfLine) -> None:
            if line.held.product.kind == KIND:
                self.app.push_screen(SheetScreen(line))
            else:
                self.say("only a sealer has a sheet")

        self.with_line(opened)

    def action_undo(self) -> None:
        """Undo the last write from here."""
        if not self._logged:
            self.say("nothing logged from here yet")
            return
        number, units = self._logged.pop(), self.house.units
        self.put(lambda: self.desks.undo_move(number, units), self._undone)

    def _undone(self, moved: Moved) -> None:
        self._taken.append(moved.number)
        self.house.done(f"{moved.sentence} z brings it back.")
        self.house.changed()

    def action_again(self) -> None:
        """Bring back the last undone write from here."""
        if not self._taken:
            self.say("nothing undone from here")
            return
        number, units = self._taken.pop(), self.house.units
        self.put(lambda: self.desks.undo_move(number, units), self._came_back)

    def _came_back(self, moved: Moved) -> None:
        self._logged.append(moved.number)
        self.house.done(f"{moved.sentence} u undoes it.")
        self.house.changed()
