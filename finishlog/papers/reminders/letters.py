"""Reminder letters, one page each: letterhead, address placed for a window envelope, the shop's text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from finishlog.desk.due.care_list import Going
from finishlog.papers.layout import style
from finishlog.papers.layout.frame import Cell
from finishlog.papers.layout.ink import Ink
from finishlog.papers.layout.leaf import Head, Leaf
from finishlog.papers.reminders.wording import Reminder, reminder
from finishlog.records.care import Reseal
from finishlog.records.shop_texts import TEXTS
from finishlog.units import write_date

SCALE = 1.3
"""Body text of 11 points."""
ADDRESS_Y = 118.0
TEXT_Y = 218.0
NAMELESS = "Your concrete"


class Letter(Leaf):
    """A leaf with a letter's head in place of a sheet's."""

    def _first_head(self) -> float:
        right, y = self.left + self.width, style.TOP
        for at, text in enumerate(self.ink.wrap(self.head.sheet, style.RULING, self.width * 0.58)[:2]):
            self.text(0, self.left, y - 4 + at * style.RULING.lead, text, style.RULING)
        for at, text in enumerate(self.head.under.split("\n")):
            line = self._line(text, style.LABEL, 0.4)
            self.text(0, right, y - 8 + at * style.LABEL.lead, line, style.LABEL, "right")
        self.rule(0, y + 24, 1.0, style.BLACK)
        return ADDRESS_Y

    def _next_head(self) -> float:
        return style.TOP


def letters(
    going: Sequence[Going], texts: Mapping[str, str], made: datetime, paper: str | Ink = "letter"
) -> bytes:
    """A PDF with one letter each; `texts` are the shop's own. Raises InputError."""
    ink = Ink(style.paper(paper)) if isinstance(paper, str) else paper
    pages = [page for one in going for page in _laid(ink, one, texts, made).finished()]
    return ink.paint(pages, "Reminders", made)


def lacking(ink: Ink, going: Sequence[Going], texts: Mapping[str, str], made: datetime) -> list[str]:
    """Characters the font lacks, per letter; empty if none."""
    found = []
    for one in going:
        words = reminder(one.line, texts, made.date(), one.what)
        parts = (*_address(one.line), words.subject, *words.paragraphs, *_contact(texts), one.line.job)
        found.append(ink.lacking("".join(parts)))
    return found


def lacking_of_shop(ink: Ink, texts: Mapping[str, str]) -> tuple[str, str] | None:
    """The first shop text that cannot be typeset, by key, with the characters; None if all can."""
    return next(((text.key, bad) for text in TEXTS if (bad := ink.lacking(texts.get(text.key, "")))), None)


def _contact(texts: Mapping[str, str]) -> list[str]:
    return [texts.get(key, "").strip() for key in ("shop_street", "shop_phone", "shop_email")]


def _laid(ink: Ink, one: Going, texts: Mapping[str, str], made: datetime) -> Letter:
    line, contact = one.line, _contact(texts)
    head = Head(texts.get("shop_name", "").strip() or NAMELESS, "", under="\n".join(c for c in contact if c),
                foot=f"Our record: {line.job}")  # fmt: skip
    leaf = Letter(ink, head, scale=SCALE)
    frame = leaf.frame
    frame.row((Cell(_address(line)[0]), Cell(write_date(made.date()), 120, align="right")))
    for part in _address(line)[1:]:
        frame.paragraph(part)
    frame.y = max(frame.y + 20, TEXT_Y)
    _text(leaf, reminder(line, texts, made.date(), one.what))
    return leaf


def _address(line: Reseal) -> list[str]:
    return [part for part in (line.customer.name, line.known_street, line.town or "") if part.strip()]


def _text(leaf: Letter, words: Reminder) -> None:
    frame = leaf.frame
    frame.paragraph(words.subject, style.STRONG)
    for text in words.paragraphs:
        frame.skip(10)
        frame.paragraph(text)
