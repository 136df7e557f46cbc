"""Lines of styled text: painters make them, widgets show them. No markup.

A painter is a pure function from values and a width to lines, so tests read it as text.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from textual.color import Color
from textual.content import Content, Span
from textual.style import Style

from finishlog.tui.paint import glyphs
from finishlog.tui.paint.glyphs import Piece
from finishlog.tui.paint.text import plain, wrap
from finishlog.tui.paint.theme import PREFIX, SHADE, luminance


class Line:
    """One row, built left to right. `put` makes every text safe."""

    __slots__ = ("pieces", "width")

    def __init__(self, *pieces: Piece) -> None:
        self.pieces: list[Piece] = []
        self.width = 0
        for piece in pieces:
            self._add(piece)

    def _add(self, piece: Piece) -> None:
        if piece.text:
            self.pieces.append(piece)
            self.width += cell_len(piece.text)

    def put(
        self, text: object, tone: str = "text", *, bold: bool = False, under: bool = False, back: str = "",
        act: str = "",
    ) -> Line:  # fmt: skip
        """Append a text; returns the line, so calls chain. `act` runs on a click."""
        self._add(Piece(plain(text), tone, bold, under, back, act))
        return self

    def bold(self, text: object, tone: str = "text") -> Line:
        """`put` in bold."""
        return self.put(text, tone, bold=True)

    def muted(self, text: object) -> Line:
        """`put` in the muted tone."""
        return self.put(text, "muted")

    def gap(self, cells: int = 1) -> Line:
        """Append blanks; none if negative."""
        self._add(Piece(" " * max(cells, 0)))
        return self

    def to(self, column: int) -> Line:
        """Pad or cut to this column."""
        return (
            self.crop(column).gap(column - self.width)
            if self.width > column
            else self.gap(column - self.width)
        )

    def join(self, other: Line) -> Line:
        """Append the other line's pieces."""
        for piece in other.pieces:
            self._add(piece)
        return self

    def crop(self, width: int) -> Line:
        """Cut to the width, ending in … if cut."""
        if self.width <= width:
            return self
        kept, self.pieces, self.width = self.pieces, [], 0
        for piece in kept if width > 0 else ():
            room = width - 1 - self.width
            if cell_len(piece.text) > room:
                cut = set_cell_size(piece.text, room)
                self._add(piece._replace(text=cut + (" " if piece.back else "…")))
                break
            self._add(piece)
        return self

    def facing(self, right: Line, width: int, gap: int = 2) -> Line:
        """This line at the left, the other at the right edge; the left one is cut."""
        right.crop(width)
        self.crop(max(width - right.width - gap, 0))
        return self.gap(width - right.width - self.width).join(right)

    def on(self, back: str, width: int) -> Line:
        """Fill to the width and set the background, but for pieces that have one."""
        self.to(width)
        self.pieces = [piece if piece.back else piece._replace(back=back) for piece in self.pieces]
        return self

    @property
    def text(self) -> str:
        """The characters without tones."""
        return "".join(piece.text for piece in self.pieces)

    def act_at(self, column: int) -> str:
        """The action of the piece at this cell; empty if none."""
        for piece in self.pieces:
            column -= cell_len(piece.text)
            if column < 0:
                return piece.act
        return ""

    @property
    def pick(self) -> str:
        """The row's pick action, for a click anywhere; empty if none."""
        return next((piece.act for piece in self.pieces if piece.act.startswith("pick(")), "")


def paragraph(
    text: object, width: int, tone: str = "text", *, indent: int = 0, bold: bool = False
) -> list[Line]:
    """A text wrapped to the width."""
    return [Line().gap(indent).put(row, tone, bold=bold) for row in wrap(plain(text), width - indent)]


def hanging(head: Line, text: object, width: int, tone: str = "text") -> list[Line]:
    """A text wrapped beside a head, with a hanging indent."""
    rows = wrap(plain(text), width - head.width)
    first = head.put(rows[0], tone)
    indent = first.width - cell_len(rows[0])
    return [first, *(Line().gap(indent).put(row, tone) for row in rows[1:])]


def clip(lines: list[Line], most: int, width: int) -> list[Line]:
    """The first `most` rows, ending in … if cut."""
    if len(lines) <= most:
        return lines
    last = lines[most - 1]
    return [*lines[: most - 1], last.put(" …", last.pieces[-1].tone).crop(width)]


def rule(width: int) -> Line:
    """A horizontal line over the width."""
    return Line().put("─" * max(width, 0), "rule")


def heading(title: str, width: int) -> list[Line]:
    """A bold title over a rule: two rows."""
    return [Line().bold(title), rule(width)]


class Palette:
    """The current theme's tokens as styles."""

    def __init__(self, variables: Mapping[str, str], plain_glyphs: bool = False) -> None:
        self._variables = variables
        self._glyphs = plain_glyphs
        self._styles: dict[tuple[str, bool, bool, str], Style] = {}

    def hex(self, token: str) -> str:
        """sRGB hex of a token; a hex color passes through. KeyError if unknown."""
        if token.startswith("#"):
            return token
        return self._variables.get(PREFIX + token, SHADE[token])

    def style(self, piece: Piece) -> Style:
        """Cached per look: a list repaints the same few."""
        key = (piece.tone, piece.bold, piece.under, piece.back)
        if key not in self._styles:
            self._styles[key] = Style(
                foreground=Color.parse(self.hex(piece.tone)),
                background=Color.parse(self.hex(piece.back)) if piece.back else None,
                bold=piece.bold or None,
                underline=piece.under or None,
            )
        return self._styles[key]

    def content(self, lines: Iterable[Line]) -> Content:
        """The lines as one block for a widget."""
        text: list[str] = []
        spans: list[Span] = []
        at = 0
        for line in lines:
            for piece in self._shown(line):
                spans.append(Span(at, at + len(piece.text), self.style(piece)))
                text.append(piece.text)
                at += len(piece.text)
            text.append("\n")
            at += 1
        return Content("".join(text[:-1]), spans=spans)

    def segments(self, line: Line) -> list[Segment]:
        """One line for a widget that draws its rows itself."""
        return [Segment(piece.text, self.style(piece).rich_style) for piece in self._shown(line)]

    def _shown(self, line: Line) -> list[Piece]:
        return glyphs.plainly(line.pieces) if self._glyphs else line.pieces

    @cached_property
    def dark(self) -> bool:
        """Whether the background is dark: a light one reverses the shade glyphs."""
        return luminance(self.hex("ground")) < 0.18
