"""Import, step 2: each column with two of its cells, and what it comes in as."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.exchange import paint
from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.text import plain
from finishlog.tui.screens.marked import MarkedScreen

if TYPE_CHECKING:
    from finishlog.desk.exchange.table import Table
    from finishlog.records.exchange import ColumnGuess


class ImportColumns(MarkedScreen["ColumnGuess"]):
    """Enter re-reads the sheet with one column changed; nothing is written yet."""

    SCOPE = "import_columns"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("import_columns")
    NONE = "the sheet has no columns"

    def __init__(self, table: Table) -> None:
        super().__init__()
        self._table = table
        self._order = _ordered(table)

    def reread(self) -> None:
        """Keep the order; the sheet is read again only after a choice."""

    @property
    def lines(self) -> tuple[ColumnGuess, ...]:
        """In their first order, columns with a question on top."""
        by_header = {guess.header: guess for guess in self._table.guesses}
        return tuple(by_header[header] for header in self._order if header in by_header)

    @staticmethod
    def key_of(line: ColumnGuess) -> object:
        return line.header

    @property
    def sentence(self) -> str:
        missing, opened = self._table.missing, self._table.open
        asks = sum(bool(guess.question) for guess in opened)
        if missing:
            return f"{missing} Press Enter on it."
        if asks:
            return f"{asks} {'column needs' if asks == 1 else 'columns need'} an answer. Press Enter."
        if opened:
            many = "1 column may be" if len(opened) == 1 else f"{len(opened)} columns may be"
            return f"{many} more than a note. Enter changes that; Ctrl+S previews the import."
        way = "Same as last time." if self._table.remembered else "All columns matched."
        return f"{way} Ctrl+S previews the import; Enter changes a column."

    # painting

    def paint_title(self, width: int) -> list[Line]:
        count = f"{self.count} {'column' if self.count == 1 else 'columns'}"
        return self.head(f"Columns · {plain(self._table.path.name)}", count, width)

    def paint_lines(self, width: int) -> list[Line]:
        opened = {guess.header for guess in self._table.open}
        rows = [
            paint.column(
                guess, self._title(guess), at, width, here=at == self._mark, open_=guess.header in opened
            )
            for at, guess in enumerate(self.lines)
        ]
        return [paint.columns_head(width), *rows]

    def _title(self, guess: ColumnGuess) -> str:
        return self._table.titles.get(guess.column or "", ("", ""))[0]

    def paint_why(self, width: int) -> list[Line]:
        guess = self.current
        return paint.column_why(guess, self._title(guess), width) if guess else []

    def paint_aside(self, width: int) -> list[Line]:
        guess = self.current
        if guess is None:
            return []
        titles = self._table.titles
        others = [titles[key][0] for key in guess.others if key in titles and key != guess.column]
        help_ = titles.get(guess.column or "", ("", ""))[1]
        return paint.column_aside(guess, self._title(guess), help_, others, width)

    # keys

    def action_open(self) -> None:
        self.with_line(self._pick)

    def _pick(self, guess: ColumnGuess) -> None:
        self.ask("choices", lambda: self.desks.column_choices(self._table, guess), self._offer)

    def _offer(self, choices: tuple[tuple[str, str, str], ...]) -> None:
        from finishlog.tui.exchange.pick import PickScreen

        guess = self.current
        if guess is not None:
            asked = paint.said_of(guess, self._title(guess)) if guess.question else ""
            self.app.push_screen(
                PickScreen(guess.header, guess.samples, asked.removesuffix(" Enter picks one."), choices,
                           lambda value: self._chosen(guess, value))
            )  # fmt: skip

    def _chosen(self, guess: ColumnGuess, value: str) -> None:
        self.ask("table", lambda: self.desks.choose_column(self._table, guess, value), self._came)

    def _came(self, table: Table) -> None:
        """Mark the next column with a question; if none, stay."""
        before, self._table = self.current, table
        opened = [guess.header for guess in table.open]
        at = next((at for at, line in enumerate(self.lines) if line.header in opened), None)
        if at is None:
            self.mark_again(before)
        else:
            self.put_mark(at)

    def action_go(self) -> None:
        from finishlog.tui.exchange.preview import ImportPreview

        asks = [guess for guess in self._table.open if guess.question]
        if self._table.missing:
            self.say(self._table.missing, 5)
        elif asks:
            self.put_mark([line.header for line in self.lines].index(asks[0].header))
            self.say("settle this one first: Enter", 5)
        else:
            self.app.push_screen(ImportPreview(self._table))


def _ordered(table: Table) -> tuple[str, ...]:
    opened = {guess.header for guess in table.open}
    ordered = sorted(table.guesses, key=lambda guess: guess.header not in opened)
    return tuple(guess.header for guess in ordered)
