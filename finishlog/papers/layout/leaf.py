"""A sheet in layout: pages with head and foot, sections with side titles, blanks to fill.

A `Leaf` is one sheet. Its sections return a `Frame`, a column that tracks its position and breaks
pages by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from finishlog.papers.layout import style
from finishlog.papers.layout.frame import WRITING, Frame
from finishlog.papers.layout.ink import Ink, Mark, Rule, Words
from finishlog.papers.layout.style import Align, Type

LONGEST_TITLE = 2
"""Lines of a title in full size; a longer one is set smaller, whole."""


@dataclass(frozen=True, slots=True)
class Head:
    """A sheet's head: kind, shop, title, one fact beside it, a line below.

    `contact` is the shop's contact line under every foot.
    """

    sheet: str
    title: str
    fact: str = ""
    under: str = ""
    shop: str | None = None
    foot: str = ""
    contact: str = ""


class Leaf:
    """One sheet on as many pages as it needs.

    With a `scale` below 1 it is laid out on larger paper and shrunk as a whole at the end.
    """

    def __init__(self, ink: Ink, head: Head, margin: float = style.MARGIN, scale: float = 1.0) -> None:
        self.ink = ink
        self.head = head
        self.scale = scale
        self.writing = WRITING
        self.left = margin
        self.width = ink.paper.width / scale - 2 * margin
        self.height = ink.paper.height / scale
        self.bottom = self.height - style.FOOT - 15
        self.pages: list[list[Mark]] = []
        self._tops: list[float] = []
        self.frame = Frame(self, self.left, self.width, page=0, y=self.top(0))

    def top(self, page: int) -> float:
        """Top of a page's content; adds the page if needed."""
        while len(self.pages) <= page:
            self.pages.append([])
            self._tops.append(self._first_head() if len(self.pages) == 1 else self._next_head())
        return self._tops[page]

    def text(self, page: int, x: float, y: float, text: str, type: Type, align: Align = "left") -> None:
        """One line of text that is safe already, its baseline at `y`; `x` is its left, right or middle."""
        shift = {"left": 0.0, "right": 1.0, "center": 0.5}[align]
        if text:
            x -= shift * self.ink.width(text, type) if shift else 0
            self.pages[page].append(Words(x, y, text, type))

    def rule(self, page: int, y: float, width: float = 0.4, gray: int = style.HAIR) -> None:
        """A line over the whole width."""
        self.pages[page].append(Rule(self.left, y, self.left + self.width, y, width, gray))

    def _first_head(self) -> float:
        """Kind and shop above a strong rule, then the large title and the line below."""
        right, y = self.left + self.width, style.TOP
        self.text(0, self.left, y, self._line(self.head.sheet, style.SIDE, 0.4), style.SIDE)
        if self.head.shop:
            self.text(0, right, y, self._line(self.head.shop, style.SIDE, 0.56), style.SIDE, "right")
        self.rule(0, y + 6, 1.4, style.BLACK)
        y += 6
        type = style.TITLE
        lines = self.ink.wrap(self.head.title, type, self.width)
        if len(lines) > LONGEST_TITLE:
            type = style.RULING
            lines = self.ink.wrap(self.head.title, type, self.width)
        for line in lines:
            y += type.lead
            self.text(0, self.left, y, line, type)
        fact = self._line(self.head.fact, style.STRONG, 0.5)
        room = self.width - (self.ink.width(fact, style.STRONG) + style.GAP if fact else 0)
        for i, line in enumerate(self.ink.wrap(self.head.under, style.FAINT, room)):
            y += style.FAINT.lead + (3 if i == 0 else 0)
            self.text(0, self.left, y, line, style.FAINT)
            if i == 0:
                self.text(0, right, y, fact, style.STRONG, "right")
        return y + 9

    def _next_head(self) -> float:
        page = len(self.pages) - 1
        text = self._line(f"{self.head.sheet} · {self.head.title}", style.FAINT, 1.0)
        self.text(page, self.left, style.TOP, text, style.FAINT)
        self.rule(page, style.TOP + 6, 1.4, style.BLACK)
        return style.TOP + 14

    def _line(self, text: str, type: Type, share: float) -> str:
        """As much of the text as fits into a share of the width, in one line."""
        lines = self.ink.wrap(text, type, self.width * share - 8)
        return lines[0] if len(lines) == 1 else f"{lines[0]}…"

    def finished(self) -> list[list[Mark]]:
        """The pages with feet: whose, print time, contact, page of pages."""
        y = self.height - style.FOOT
        contact = self._line(self.head.contact, style.LABEL, 1.0) if self.head.contact else ""
        for page in range(len(self.pages)):
            self.text(page, self.left, y + style.LABEL.lead, contact, style.LABEL)
            self.text(page, self.left, y, self._line(self.head.foot, style.LABEL, 0.8), style.LABEL)
            of = f"{page + 1} of {len(self.pages)}"
            self.text(page, self.left + self.width, y, of, style.LABEL, "right")
        if self.scale == 1:
            return self.pages
        return [[mark.scaled(self.scale) for mark in page] for page in self.pages]

    @contextmanager
    def section(
        self, name: str, note: str = "", *, ruled: bool = True, least: float = 24.0
    ) -> Iterator[tuple[Frame, Frame]]:
        """A section: the column beside its title, and the narrow one below the title.

        `least` is the height needed on the page to start the section there.
        """
        start = self.frame
        start.need(least + style.SECTION_GAP)
        if ruled:
            start.skip(style.SECTION_GAP / 2)
            self.rule(start.page, start.y)
            start.skip(style.SECTION_GAP / 2)
        side = Frame(self, self.left, style.SIDE_WIDTH - style.GAP, start.page, start.y)
        side.paragraph(name, style.SIDE)
        if note:
            side.paragraph(note, style.LABEL)
        beside = self.width - style.SIDE_WIDTH
        body = Frame(self, self.left + style.SIDE_WIDTH, beside, start.page, start.y, heading=name)
        yield body, side
        self.frame.join((side, body))


def one_page(choices: Sequence[float], lay: Callable[[float], Leaf]) -> Leaf:
    """The first choice that fits one page, else the last one."""
    for choice in choices:
        leaf = lay(choice)
        if len(leaf.pages) == 1:
            break
    return leaf
