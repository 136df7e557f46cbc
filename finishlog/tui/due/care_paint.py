"""Paints the book of reseals: twelve months at a glance, the list by month, why a line is due."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from finishlog.desk.said import sent_by, written_words
from finishlog.records.care import Book, CareState, MonthCount, Reseal, Visit
from finishlog.tui.paint.ink import Line, clip, hanging, heading, paragraph
from finishlog.units import MONTHS, write, write_date, write_weekday

STATES: dict[CareState, tuple[str, str, str]] = {
    "due": ("○", "due", "text"), "written": ("□", "written", "accent"),
    "contacted": ("◊", "contacted", "accent"), "booked": ("●", "booked", "ok"),
    "done": ("√", "done", "ok"), "declined": ("×", "declined", "muted"), "ask_again": ("~", "ask again", "warn"),
}  # fmt: skip
"""Glyph, word and tone of each state."""
MARK = "▌"
MOVED = "→ moved to"
NARROW = 66
MOST = 5
"""Most marks in a month; above that, their number is shown."""
CLOSED = ("off season", "off season", "shut")


def glance(months: Sequence[MonthCount], width: int) -> list[Line]:
    """A row of months with a mark per reseal; the off season is labeled across."""
    cell = min(width // 12, 6)
    names, marks = Line(), Line()
    for closed, run in groupby(months, key=lambda month: month.closed and not month.count):
        group = list(run)
        for month in group:
            act = f"month_at({month.year}, {month.month})" if month.count else ""
            names.put(MONTHS[month.month - 1], "muted", act=act).gap(cell - 3)
        if closed:
            end = marks.width + cell * len(group)
            room = cell * len(group) - 1
            word = next((text for text in CLOSED if len(text) <= room), "")
            marks.muted(word).to(end)
        for month in () if closed else group:
            act = f"month_at({month.year}, {month.month})"
            marks.join(_marks(month, cell, act)).to(marks.width + cell - _used(month, cell))
    return [names.crop(width), marks.crop(width)]


def _used(month: MonthCount, cell: int) -> int:
    return _marks(month, cell).width


def _marks(month: MonthCount, cell: int, act: str = "") -> Line:
    if month.count > min(MOST, cell - 1):
        many = f"{month.count}"
        return Line().put(many if len(many) < cell else f"{month.count // 1000}k", bold=True, act=act)
    line = Line()
    for state in month.states:
        line.put(STATES[state][0], STATES[state][2], act=act)
    return line


def legend(width: int) -> Line:
    """The states in one row, spread over the width."""
    words = sum(len(word) + 2 for _, word, _ in STATES.values())
    apart = max(1, min(3, (width - words) // (len(STATES) - 1)))
    line = Line()
    for at, (glyph, word, tone) in enumerate(STATES.values()):
        line.gap(apart if at else 0).put(glyph, tone).muted(f" {word}")
    return line.crop(width)


def _headings(book: Book, width: int) -> list[int]:
    """The row of each month's heading; a blank stands above all but the first, if there is room."""
    return [start + at * (1 if width < NARROW else 2) for at, (_, start) in enumerate(book.starts)]


def height(book: Book, width: int) -> int:
    """Rows of the whole list, grouped by month."""
    return _headings(book, width)[-1] + 1 + book.total - book.starts[-1][1] if book.starts else 0


def row_of(book: Book, index: int, width: int) -> int:
    """The row of a reseal."""
    group = bisect_right([start for _, start in book.starts], index) - 1
    return _headings(book, width)[group] + 1 + index - book.starts[group][1]


def row(
    book: Book, y: int, line_at: Callable[[int], Reseal | None], mark: int, width: int
) -> tuple[Line, int | None]:  # fmt: skip
    """A row of the list: a month, a reseal, or a blank; and the reseal it lacks if that has not come."""
    headings = _headings(book, width)
    group = bisect_right(headings, y) - 1
    (year, month), start = book.starts[group]
    if y == headings[group]:
        name = MONTHS[month - 1] + ("" if year == book.today.year else f" {year}")
        return Line().gap(1 if width < NARROW else 2).bold(name), None
    index = start + y - headings[group] - 1
    if index >= (book.starts[group + 1][1] if group + 1 < len(book.starts) else book.total):
        return Line(), None
    line = line_at(index)
    if line is None:
        here = Line().put(MARK if index == mark else " ", "accent")
        return here.to(row_start(width < NARROW)).muted("…"), index
    return _row(line, index, width, here=index == mark), None


def _row(line: Reseal, at: int, width: int, *, here: bool) -> Line:
    """Mark, state, customer, remark; the job name is cut first, the remark to half the row."""
    narrow = width < NARROW
    glyph, word, tone = STATES[line.state]
    act = f"pick({at})"
    row = Line().put(MARK if here else " ", "accent").gap(0 if narrow else 1)
    row.put(glyph, tone, act=act).put(f" {word}", tone, bold=here, act=act).to(13 if narrow else 15)
    row.put(line.title, "muted" if line.state == "declined" else "text", bold=here, act=act)
    told = Line().put(before(line), "warn", act=act).put(remark(line), "muted", act=act)
    told = told.crop((width - row_start(narrow)) // 2)
    row.facing(told, width - (1 if narrow else 2))
    return row.on("cursor" if here else "ground", width)


def row_start(narrow: bool) -> int:
    """Column where the customer starts, after mark and state."""
    return 13 if narrow else 15


def before(line: Reseal) -> str:
    """Work due before the coat; it comes before anything else."""
    words = {"wipe": "! wipe first ", "strip": "! strip first "}.get(line.prepare, "")
    return words if line.open else ""


def remark(line: Reseal) -> str:
    """The day if there is one, then the note; else the last coat."""
    if line.left_alone:
        return "wants no reminders"
    parts = [_day(line), line.note or "", line.said or "", _written(line)]
    return (
        "; ".join(p for p in parts if p) or f"last {MONTHS[line.sealed_on.month - 1]} {line.sealed_on.year}"
    )


def _written(line: Reseal) -> str:
    """`by letter Jun 16`, `came back`."""
    last = line.last_written
    if last is None:
        return ""
    day = f"{MONTHS[last.on.month - 1]} {last.on.day}"
    return f"{last.how} came back" if last.bounced else f"{sent_by(last.how)} {day}".strip()


def _day(line: Reseal) -> str:
    if line.on is None:
        return ""
    usual = "planned " if line.planned else f"{MOVED} " if line.moved else ""
    return {"done": "sealed ", "ask_again": "from "}.get(line.state, usual) + write_weekday(line.on)


def window(line: Reseal) -> str:
    """First and last day to reseal."""
    return f"{write_date(line.due_from)} to {write_date(line.due_to)}"


def why(line: Reseal | None, best: Visit | None, most: int, width: int) -> list[Line]:
    """Work due first, the due dates, the best day, and the basis."""
    if line is None:
        return []
    first = f"! {line.prepare_why}" if line.prepare_why else ""
    said = "; ".join(part for part in (line.note, line.said) if part)
    told = (
        first,
        f"Window {window(line)}{_best_words(line, best)}.",
        f"Said: {said}." if said else "",
        line.why,
    )
    return clip(paragraph(" ".join(part for part in told if part), width), most, width)


def _best_words(line: Reseal, best: Visit | None) -> str:
    """The week plan's day, if it differs from the line's own."""
    says_more = best is not None and line.open and not best.fixed and best.on != line.on
    return f", best {write_weekday(best.on)}" if best is not None and says_more else ""


def best_day(line: Reseal, best: Visit | None) -> str:
    """The day the week plan offers and why: `Mon Jun 22, with its neighbor`."""
    if best is None or not line.open:
        return ""
    if best.fixed:
        return "stays on the day someone set"
    why = [part for part in best.why.split(", ") if part not in ("", f"window to {write_date(line.due_to)}")]
    return f"{write_weekday(best.on)}, {', '.join(why) or 'the soonest with room'}"


def aside(line: Reseal | None, best: Visit | None, width: int, system: str) -> list[Line]:
    """The pane: customer, dates and why, the film and work due first, contacts."""
    if line is None:
        return []
    glyph, word, tone = STATES[line.state]
    lines = [*paragraph(line.title, width, bold=True), Line().put(f"{glyph} {word}", tone)]
    if line.prepare_why:
        lines += hanging(Line().put("! ", "warn"), line.prepare_why, width)
    lines += [Line(), *_facts((("Window", window(line)), ("Day", _day(line)), ("Best", best_day(line, best)),
                               ("Sealed", write_date(line.sealed_on)),
                               ("Areas", ", ".join(line.areas)), ("Film", film(line, system)),
                               ("Note", line.note or ""), ("Before", line.said or ""),
                               ("Sent", written_words(line.last_written) if line.last_written else "")),
                              width)]  # fmt: skip
    lines += [Line(), *heading("Why", width), *paragraph(line.why, width)]
    reach = (("Street", ", ".join(p for p in (line.street, line.town) if p)),
             ("Phone", line.customer.phone or ""), ("E-mail", line.customer.email or ""))  # fmt: skip
    lines += [Line(), *heading("Reach", width), *_facts(reach, width)]
    return [*lines, *paragraph("Wants no reminders.", width, "warn")] if line.left_alone else lines


def film(line: Reseal, system: str) -> str:
    """The film's estimated state today."""
    if line.film is None or line.film.dry_mil is None:
        return "unknown"
    least = "at least" if line.film.at_least else "about"
    over = ", over the limit" if line.film.over else ""
    return f"{least} {write('film_mil', line.film.dry_mil, system)}{over}"


def _facts(facts: Iterable[tuple[str, str]], width: int) -> list[Line]:
    return [row for label, text in facts if text for row in hanging(Line().muted(label).to(8), text, width)]
