"""A column of a sheet: stacked paragraphs, rows, blanks and swatches, over as many pages as needed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from finishlog.papers.layout import style
from finishlog.papers.layout.ink import Box, Ink, Mark, Rule
from finishlog.papers.layout.style import Align, Color, Type

_Place = tuple[float, float, list[str]]
"""Left edge, width and lines of a cell."""
USUAL_LINES = 3
WRITING = 17.0
"""Space above a blank's line, for a pencil in a glove."""


@dataclass(frozen=True, slots=True)
class Cell:
    """Wrapped text in a row; `width` in points (0: the remaining width)."""

    text: str
    width: float = 0.0
    type: Type = style.BODY
    align: Align = "left"


@dataclass(frozen=True, slots=True)
class Blank:
    """A line to write on: label below, usual or planned value at the right end.

    `share` is its part of the row's width. `choices` are printed for circling.
    """

    label: str
    share: float = 1.0
    usual: str = ""
    choices: tuple[str, ...] = ()


class Surface(Protocol):
    """What a column needs of its sheet: pages with their top and bottom, in points from the top."""

    ink: Ink
    left: float
    bottom: float
    writing: float
    pages: list[list[Mark]]

    def top(self, page: int) -> float:
        """Top of that page's columns; adds the page if it is the next."""

    def text(self, page: int, x: float, y: float, text: str, type: Type, align: Align = "left") -> None:
        """One line of text on that page."""


@dataclass
class Frame:
    """A column's cursor: its page, and `y` from the top of the paper."""

    leaf: Surface
    x: float
    width: float
    page: int
    y: float
    heading: str = ""

    def need(self, height: float) -> None:
        """Start the next page unless this much room is left."""
        if self.y + height <= self.leaf.bottom:
            return
        self.page += 1
        self.y = self.leaf.top(self.page)
        if self.heading:
            name = self.leaf.ink.wrap(f"{self.heading}, continued", style.LABEL, style.SIDE_WIDTH - style.GAP)
            for i, line in enumerate(name):
                at = self.y + style.SIDE.size + i * style.LABEL.lead
                self.leaf.text(self.page, self.leaf.left, at, line, style.LABEL)

    def skip(self, height: float) -> None:
        """Move down by that many points."""
        self.y += height

    def split(self, count: int, gap: float = style.GAP) -> list[Frame]:
        """Split into columns side by side; `join` them when done."""
        width = (self.width - gap * (count - 1)) / count
        return [Frame(self.leaf, self.x + i * (width + gap), width, self.page, self.y) for i in range(count)]

    def join(self, frames: Sequence[Frame]) -> None:
        """Continue below the longest column."""
        self.page, self.y = max((frame.page, frame.y) for frame in frames)

    def paragraph(self, text: str, type: Type = style.BODY) -> None:
        """Text over the whole width of the column."""
        self.row((Cell(text, type=type),))

    def bullets(self, lines: Iterable[str], type: Type = style.BODY, mark: str = "·") -> None:
        """Each line behind its mark."""
        for line in lines:
            self.row((Cell(mark, 8, type), Cell(line, type=type)), gap=0)

    def row(self, cells: Sequence[Cell], gap: float = 6.0, hair: bool = False) -> None:
        """Cells side by side on a common first baseline. A row breaks only if no page holds it."""
        base = max(cell.type.size for cell in cells)
        laid = self._laid(cells, gap)
        height = max(
            base - cell.type.size + len(lines) * cell.type.lead
            for cell, (_, _, lines) in zip(cells, laid, strict=True)
        )
        if height > self.leaf.bottom - self.leaf.top(self.page):
            self._parted(cells, laid)
        else:
            self.need(height)
            for cell, place in zip(cells, laid, strict=True):
                for at, line in enumerate(place[2]):
                    self._write(cell, place, line, self.y + base + at * cell.type.lead)
            self.y += height
        if hair:
            self.hair()

    def _parted(self, cells: Sequence[Cell], laid: Sequence[_Place]) -> None:
        """A row higher than a page, line by line."""
        lead = max(cell.type.lead for cell in cells)
        for at in range(max(len(lines) for _, _, lines in laid)):
            self.need(lead)
            for cell, place in zip(cells, laid, strict=True):
                if at < len(place[2]):
                    self._write(cell, place, place[2][at], self.y + cell.type.size)
            self.y += lead

    def _write(self, cell: Cell, place: _Place, line: str, y: float) -> None:
        x, width, _ = place
        at = {"left": x, "right": x + width, "center": x + width / 2}[cell.align]
        self.leaf.text(self.page, at, y, line, cell.type, cell.align)

    def run_in(self, title: str, text: str, type: Type, strong: Type) -> None:
        """A paragraph that begins with its title in bold."""
        ink = self.leaf.ink
        name = ink.wrap(title, strong, self.width * 0.6)[0]
        indent = ink.width(name, strong) + 3.5
        lines = ink.wrap(text, type, self.width, indent)
        self.need(len(lines) * type.lead)
        self.leaf.text(self.page, self.x, self.y + type.size, name, strong)
        for at, line in enumerate(lines):
            self.leaf.text(self.page, self.x + (0 if at else indent), self.y + type.size, line, type)
            self.y += type.lead

    def _laid(self, cells: Sequence[Cell], gap: float) -> list[_Place]:
        """Left edge, width and lines of each cell."""
        fixed = sum(cell.width for cell in cells) + gap * (len(cells) - 1)
        open_cells = sum(cell.width == 0 for cell in cells)
        spare = (self.width - fixed) / open_cells if open_cells else 0.0
        laid, x = [], self.x
        for cell in cells:
            width = cell.width or spare
            laid.append((x, width, self.leaf.ink.wrap(cell.text, cell.type, width)))
            x += width + gap
        return laid

    def hair(self, gray: int = 205) -> None:
        """A hairline across the column, half a point below the last content."""
        self.y += 1.2
        self.leaf.pages[self.page].append(Rule(self.x, self.y, self.x + self.width, self.y, 0.3, gray))
        self.y += 0.8

    def blanks(self, blanks: Sequence[Blank], writing: float | None = None, gap: float = 8.0) -> None:
        """A row of lines to write on; without labels the next row follows closer."""
        writing = self.leaf.writing if writing is None else writing
        whole = sum(blank.share for blank in blanks)
        room = self.width - gap * (len(blanks) - 1)
        widths = [room * blank.share / whole for blank in blanks]
        lines = max(map(self._lines, blanks, widths)) if any(b.label or b.usual for b in blanks) else 0
        under = style.LABEL.lead * lines + 2
        self.need(writing + under)
        x, line = self.x, self.y + writing
        for blank, width in zip(blanks, widths, strict=True):
            self._blank(blank, x, width, line)
            x += width + gap
        self.y = line + under

    def _lines(self, blank: Blank, width: float) -> int:
        """Lines under a blank: one if label and usual value fit side by side."""
        ink = self.leaf.ink
        beside = ink.width(ink.safe(blank.label), style.LABEL) + 3
        if not blank.usual or beside + ink.width(ink.safe(blank.usual), style.SMALL_STRONG) <= width:
            return 1
        return 1 + len(self._usual(blank, width))

    def _usual(self, blank: Blank, width: float) -> list[str]:
        """The usual value in a few lines at most."""
        lines = self.leaf.ink.wrap(blank.usual, style.SMALL_STRONG, width)
        return (
            lines if len(lines) <= USUAL_LINES else [*lines[: USUAL_LINES - 1], f"{lines[USUAL_LINES - 1]}…"]
        )

    def _blank(self, blank: Blank, x: float, width: float, line: float) -> None:
        ink, leaf = self.leaf.ink, self.leaf
        leaf.pages[self.page].append(Rule(x, line, x + width, line, 0.5, style.RULE))
        under = line + style.LABEL.size + 0.5
        leaf.text(self.page, x, under, _first(ink.wrap(blank.label, style.LABEL, width)), style.LABEL)
        lower = under if self._lines(blank, width) == 1 else under + style.LABEL.lead
        for i, usual in enumerate(self._usual(blank, width)):
            at = lower + i * style.LABEL.lead
            leaf.text(self.page, x + width, at, usual, style.SMALL_STRONG, "right")
        for i, choice in enumerate(blank.choices):
            at = x + width * (i + 0.5) / len(blank.choices)
            leaf.text(self.page, at, line - 5, ink.safe(choice), style.BODY, "center")

    def swatch(self, x: float, y: float, width: float, height: float, color: Color) -> None:
        """A slab's color, framed, so that a pale one still has an edge on a gray printer."""
        self.fill(x, y, width, height, color)
        self.outline(x, y, width, height)

    def fill(self, x: float, y: float, width: float, height: float, color: Color) -> None:
        """A filled rectangle, in points from the top left."""
        self.leaf.pages[self.page].append(Box(x, y, width, height, fill=color))

    def outline(self, x: float, y: float, width: float, height: float) -> None:
        """A rectangle's outline, in points from the top left."""
        self.leaf.pages[self.page].append(Box(x, y, width, height, frame=style.RULE))

    def box(self, height: float, fill: int = style.TINT) -> None:
        """A tinted background of this height for what follows; the cursor stays."""
        self.need(height)
        self.leaf.pages[self.page].append(Box(self.x, self.y, self.width, height, fill=(fill, fill, fill)))


def _first(lines: list[str]) -> str:
    return lines[0] if len(lines) == 1 else f"{lines[0]}…"
