"""Layout all screens share: titles, rows of label, words and figure, columns."""

from __future__ import annotations

from collections.abc import Iterable

from finishlog.tui.paint.ink import Line, clip, hanging, paragraph
from finishlog.tui.paint.text import plain, wrap

LABEL = 10
NARROW = 66


def title(name: str, fact: str, sentence: str, width: int, tone: str = "text") -> list[Line]:
    """The title with a fact at the right, the answer under it."""
    lines = _named(plain(name), plain(fact), width)
    first, stop, rest = sentence.partition(". ")
    answer = Line().bold(first + stop.rstrip(), tone)
    return [*lines, *(hanging_after(answer.gap(1 if rest else 0), rest, width) if sentence else [])]


def low_title(name: str, fact: str, sentence: str, width: int, most: int, tone: str = "text") -> list[Line]:
    """For a low screen: one row, and at most `most` rows of the sentence."""
    row = Line().bold(name).facing(Line().muted(fact), width)
    return [row, *clip(title("", "", sentence, width, tone)[1:], most, width)]


def _named(name: str, fact: str, width: int) -> list[Line]:
    """Name and fact in one row; if too long, the name wraps to two, on a narrow screen the fact goes under it."""
    if len(name) + len(fact) + 2 <= width:
        return [Line().bold(name).facing(Line().muted(fact), width)]
    under = width < NARROW
    rows = clip(paragraph(name, width if under else width - len(fact) - 2, bold=True), 2, width)
    if under:
        return [*rows, Line().muted(fact).crop(width)]
    return [rows[0].facing(Line().muted(fact), width), *rows[1:]]


def hanging_after(head: Line, text: str, width: int) -> list[Line]:
    """Muted text after a bold start, wrapped to the left edge."""
    tone = head.pieces[0].tone if head.pieces else "text"
    if not text:
        return [head] if head.width <= width else paragraph(head.text, width, tone, bold=True)
    if head.width + len(text) <= width:
        return [head.muted(text)]
    return [head, *paragraph(text, width, "muted")] if head.width <= width else [
        *paragraph(head.text, width, tone, bold=True), *paragraph(text, width, "muted")
    ]  # fmt: skip


def fact(label: str, text: str, figure: str, width: int, *, warn: bool = False) -> list[Line]:
    """Label, words, and a bold figure at the right, or a warning if it is missing."""
    head = Line().bold(label).to(LABEL)
    if warn:
        head.put("! ", "warn")
    room = width - len(figure) - 2 if figure else width
    rows = wrap(plain(text), max(room - head.width, 12))
    tone = "warn" if warn else "text"
    indent = head.width
    lines = [head.put(rows[0], tone).facing(Line().bold(figure), width)]
    return [*lines, *(Line().gap(indent).put(row, tone) for row in rows[1:])]


def labeled(label: str, text: str, width: int, tone: str = "text", mark: str = "") -> list[Line]:
    """A row whose label warns if it has a `mark`; the text wraps beside it."""
    head = Line().bold(label, "warn" if mark else "text").to(LABEL)
    return hanging(head, text, width, tone)


def beside(left: list[Line], right: list[Line], column: int) -> list[Line]:
    """Two blocks side by side, the right one starting at `column`."""
    rows = max(len(left), len(right))
    blank = Line()
    pairs = (
        (left[i] if i < len(left) else blank, right[i] if i < len(right) else blank) for i in range(rows)
    )
    return [Line(*a.pieces).to(column).join(b) for a, b in pairs]


def tabs(names: Iterable[str], current: int, act: str) -> Line:
    """A row of tabs, the current one bold and underlined."""
    line = Line().gap(1)
    for index, name in enumerate(names):
        call = act.format(index)
        line.put(
            name,
            "text" if index == current else "muted",
            bold=index == current,
            under=index == current,
            act=call,
        )
        line.gap(5)
    return line
