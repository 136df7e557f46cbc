"""Safe, measured text, and marks painted into a PDF. The only module that uses fpdf2.

Marks carry their position; a sheet is laid out first and painted once all pages are known.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Any

from finishlog.papers.layout.style import Color, Paper, Type
from finishlog.plain import visible

if TYPE_CHECKING:
    from fpdf import FPDF

FAMILY = "house"
MISSING = "\u25a1"
"""Replacement for a character missing from the font: a white square."""
_FILES = {"": "DejaVuSansCondensed.ttf", "B": "DejaVuSansCondensed-Bold.ttf"}
_DATE = re.compile(
    r"(?:(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) )?(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)"
    r" (?:\d{1,2}(?:,? \d{4})?|\d{4})\b"
)
"""`Mon Dec 14`, `Jun 4 2026`, `Apr 2026`, as the sheets write them."""
_SHAPED = (
    (0x0591, 0x05C7),
    (0x0600, 0x08FF),
    (0x0900, 0x109F),
    (0x1780, 0x18AF),
    (0xFB50, 0xFDFF),
    (0xFE70, 0xFEFC),
)
"""Hebrew points; Arabic, Syriac and their like; the scripts of India, Thai, Lao, Tibetan, Burmese; Khmer, Mongolian."""
_INVISIBLE = frozenset("\u200b\u200c\u200d\ufe0e\ufe0f\u00ad\ufeff")


@dataclass(frozen=True, slots=True)
class Words:
    """Text from `x`, its baseline at `y`."""

    x: float
    y: float
    text: str
    type: Type

    def scaled(self, by: float) -> Words:
        """The same words, smaller or larger."""
        smaller = replace(self.type, size=self.type.size * by)
        return Words(self.x * by, self.y * by, self.text, smaller)


@dataclass(frozen=True, slots=True)
class Rule:
    """A straight line, in points from the top left; `gray` from 0 (black) to 255."""

    x: float
    y: float
    to_x: float
    to_y: float
    width: float
    gray: int

    def scaled(self, by: float) -> Rule:
        """The same line, smaller or larger."""
        return Rule(self.x * by, self.y * by, self.to_x * by, self.to_y * by, self.width, self.gray)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, filled or framed or both."""

    x: float
    y: float
    width: float
    height: float
    fill: Color | None = None
    frame: int | None = None

    def scaled(self, by: float) -> Box:
        """The same box, smaller or larger."""
        return Box(self.x * by, self.y * by, self.width * by, self.height * by, self.fill, self.frame)


Mark = Words | Rule | Box


class Ink:
    """One PDF being made on one paper."""

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self._widths: dict[tuple[str, bool], float] = {}
        self._safe: dict[str, str] = {}

    @cached_property
    def _pdf(self) -> FPDF:
        """The document with our fonts; silences the library's font-subsetting log."""
        import logging

        from fpdf import FPDF

        logging.getLogger("fontTools.subset").setLevel(logging.WARNING)
        pdf = FPDF(unit="pt", format=(self.paper.width, self.paper.height))
        pdf.set_auto_page_break(False)
        for style, name in _FILES.items():
            with as_file(files("finishlog").joinpath("data/fonts", name)) as path:
                pdf.add_font(FAMILY, style, path)
        return pdf

    def _font(self, bold: bool) -> Any:
        return self._pdf.fonts[FAMILY + ("B" if bold else "")]

    def safe(self, text: str) -> str:
        """Printable one-line text: controls made visible, missing characters as squares."""
        if text not in self._safe:
            self._safe[text] = self._shown(text)
        return self._safe[text]

    def _shown(self, text: str) -> str:
        shown = visible(unicodedata.normalize("NFC", text))
        if shown.isascii():
            return shown
        regular, bold = self._font(False).cmap, self._font(True).cmap
        kept = (c for c in shown if c not in _INVISIBLE and not 0x1F3FB <= ord(c) <= 0x1F3FF)
        return "".join(c if ord(c) in regular and ord(c) in bold else MISSING for c in kept)

    def lacking(self, text: str) -> str:
        """Characters of a text we cannot typeset, each once, in order.

        The font has Latin, Greek, Cyrillic, Hebrew and more, but no Chinese, Japanese or Korean; Arabic and
        other joined or stacked scripts would come out in loose letters.
        """
        regular, bold = self._font(False).cmap, self._font(True).cmap
        shown = visible(unicodedata.normalize("NFC", text))
        return "".join(
            dict.fromkeys(
                c for c in shown
                if c not in _INVISIBLE and (_joined(c) or ord(c) not in regular or ord(c) not in bold)
            )
        )  # fmt: skip

    def width(self, text: str, type: Type) -> float:
        """How wide safe text is, in points."""
        return self._units(text, type.bold) / 1000 * type.size

    def _units(self, text: str, bold: bool) -> float:
        """How wide it is in thousandths of its size: the sum of its characters."""
        key = (text, bold)
        if key not in self._widths:
            widths = self._font(bold).cw
            self._widths[key] = sum([widths[ord(c)] for c in text])
        return self._widths[key]

    def wrap(self, text: str, type: Type, room: float, indent: float = 0.0) -> list[str]:
        """Safe text broken into lines that fit `room`; an overlong word is cut.

        The first line is shorter by `indent`, and empty if no word fits. A date stays together if a line
        can hold it.
        """
        lines: list[str] = []
        line, wide, left = "", 0.0, room - indent
        for word in self._pieces(self.safe(text), type, room):
            longer = self._units(word, type.bold)
            if line:
                longer += wide + self._units(" ", type.bold)
            if longer / 1000 * type.size <= left:
                line, wide = f"{line} {word}" if line else word, longer
                continue
            if line or left < room:
                lines.append(line)
                left = room
            *full, line = self._cut(word, type, room)
            wide = self._units(line, type.bold)
            lines += full
        return [*lines, line] if line or not lines else lines

    def _pieces(self, text: str, type: Type, room: float) -> Iterator[str]:
        """The words of a text, a date as one of them unless it is wider than the room."""
        at = 0
        for date in _DATE.finditer(text):
            start, end = text.rfind(" ", at, date.start()) + 1 or at, text.find(" ", date.end())
            end = len(text) if end < 0 else end
            if self.width(text[start:end], type) > room:
                continue
            if start > at:
                yield from text[at : start - 1].split(" ")
            yield text[start:end]
            at = end + 1
        if at <= len(text):
            yield from text[at:].split(" ")

    def _cut(self, word: str, type: Type, room: float) -> list[str]:
        """A word in pieces that fit; one character at least in each."""
        if self.width(word, type) <= room:
            return [word]
        pieces = [""]
        for character in word:
            if pieces[-1] and self.width(pieces[-1] + character, type) > room:
                pieces.append("")
            pieces[-1] += character
        return pieces

    def paint(self, pages: Sequence[Sequence[Mark]], title: str, made: datetime) -> bytes:
        """The finished file. The same marks, title and moment give the same bytes."""
        pdf = self._pdf
        pdf.set_title(self.safe(title))
        pdf.set_creator("finishlog")
        pdf.set_lang("en-US")
        pdf.set_creation_date(made)
        for page in pages:
            pdf.add_page()
            for mark in page:
                self._put(pdf, mark)
        return bytes(pdf.output())

    def _put(self, pdf: FPDF, mark: Mark) -> None:
        if isinstance(mark, Words):
            pdf.set_font(FAMILY, "B" if mark.type.bold else "", mark.type.size)
            pdf.set_text_color(mark.type.gray)
            pdf.text(mark.x, mark.y, _in_reading_order(mark.text))
        elif isinstance(mark, Rule):
            pdf.set_draw_color(mark.gray)
            pdf.set_line_width(mark.width)
            pdf.line(mark.x, mark.y, mark.to_x, mark.to_y)
        else:
            self._box(pdf, mark)

    def _box(self, pdf: FPDF, box: Box) -> None:
        if box.fill is not None:
            pdf.set_fill_color(*box.fill)
            pdf.rect(box.x, box.y, box.width, box.height, style="F")
        if box.frame is not None:
            pdf.set_draw_color(box.frame)
            pdf.set_line_width(0.5)
            pdf.rect(box.x, box.y, box.width, box.height, style="D")


def _joined(character: str) -> bool:
    """Whether a character's script joins, stacks or carries points, which needs shaping we lack."""
    return any(low <= ord(character) <= high for low, high in _SHAPED)


def _in_reading_order(text: str) -> str:
    """Text in visual order from the left: right-to-left words are reversed."""
    if not any(unicodedata.bidirectional(c) in ("R", "AL") for c in text):
        return text
    from fpdf.bidi import BidiParagraph
    from fpdf.enums import TextDirection

    return BidiParagraph(text=text, base_direction=TextDirection.LTR).get_reordered_string()
