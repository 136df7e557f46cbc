"""Paints what was done on a job by day, with a chip for each color read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import TYPE_CHECKING

from rich.cells import cell_len

from finishlog.records.when import day_of
from finishlog.trade.poured import day_before
from finishlog.tui.paint import swatch
from finishlog.tui.paint.ink import Line, clip, paragraph, rule
from finishlog.tui.paint.text import fit, plain

if TYPE_CHECKING:
    from finishlog.records.page import Doing
    from finishlog.tui.desks.views import JobView, Look
    from finishlog.tui.paint.theme import Depth

MARK = "▌ "
CHIP = 3
NAME_LEAST = 12
NOTHING = "Nothing logged yet."
NOT_POURED = "Not poured yet. l logs what happens; the plan's figures show beside the fields."
"""For a planned job's blanks: nothing is missing, it has not happened yet."""
SHORT = {"release color": "release"}

Shades = tuple["Depth", bool]
"""Color depth of the terminal, and whether its background is dark."""
PLAIN: Shades = ("glyphs", True)


@dataclass(slots=True)
class _Row:
    """Entries grouped by row: readings of one moment share one."""

    time: str
    doings: list[Doing] = field(default_factory=list)


def standing(view: JobView) -> list[int]:
    """Numbers of the correctable entries, in display order."""
    return [doing.number for doing in view.page.doings if doing.current]


def was_done(view: JobView, width: int, mark: int | None = None, shades: Shades = PLAIN) -> list[Line]:
    """Oldest first, a heading per day; a corrected entry is indented under its replacement.

    `mark` is the number of the marked entry; moving it moves no row.
    """
    reads = _reads(view)
    lines: list[Line] = []
    for day, group in groupby(view.page.doings, key=lambda doing: _parted(doing)[0]):
        doings = list(group)
        lines.append(Line().bold(_shown_day(view, day)).gap(2).muted(_age(view, doings[0])).crop(width))
        who = ""
        for row in _rows(doings, reads):
            first = row.doings[0]
            own = first.who or ""
            lines += _painted(row, reads, mark, "" if own == who else own, width, shades)
            who = own or who
    return lines or paragraph(NOT_POURED if view.page.planned else NOTHING, width)


def _reads(view: JobView) -> dict[int, Look]:
    """Looks by entry number."""
    numbers = [entry.number for entry in view.page.job.entries if entry.reading is not None]
    return dict(zip(numbers, view.looks, strict=False))


def _parted(doing: Doing) -> tuple[str, str]:
    """`Jun 4 2026, about 7:10a` split into day and time."""
    day, _, time = doing.when.partition(", ")
    return day, time


def _shown_day(view: JobView, day: str) -> str:
    """Drops the pour's year, which is in the title."""
    poured = view.page.line.poured_on
    return day.removesuffix(f" {poured.year}") if poured else day


def _age(view: JobView, doing: Doing) -> str:
    """`pour`, `day 28`; empty if either day is unknown."""
    job = view.page.job
    entry = next((e for e in job.history if e.number == doing.number), None)
    poured = day_before(job, entry) if entry else None
    if entry is None or poured is None:
        return ""
    days = (day_of(job, entry) - poured).days
    return "pour" if days == 0 else f"day {days}" if days > 0 else "before the pour"


def _rows(doings: Sequence[Doing], reads: dict[int, Look]) -> Iterator[_Row]:
    """One after another; readings of one moment and person side by side."""
    row: _Row | None = None
    for doing in doings:
        time = _parted(doing)[1].replace("about ", "~")
        same = row is not None and row.time == time and row.doings[0].who == doing.who
        if row is not None and same and all(each.number in reads and each.current and not each.note
                                            for each in (*row.doings, doing)):  # fmt: skip
            row.doings.append(doing)
            continue
        if row is not None:
            yield row
        row = _Row(time, [doing])
    if row is not None:
        yield row


def _painted(
    row: _Row, reads: dict[int, Look], mark: int | None, who: str, width: int, shades: Shades
) -> list[Line]:
    first = row.doings[0]
    here = any(doing.number == mark for doing in row.doings)
    head = Line().put(MARK if here else "  ", "accent") if mark is not None else Line()
    indent = head.width + TIME + 1
    head.join(Line().facing(Line().muted(row.time), TIME, 0)).gap(1)
    said = Line().muted(who)
    room = max(width - indent - (said.width + 2 if who else 0), 16)
    if first.current and first.number in reads:
        body = _chips(row.doings, reads, mark, room, shades)
    elif first.current:
        body = paragraph(first.what, room)
    else:
        told = f"{first.was if first.gone else 'was'}: {first.what}"
        body = paragraph(told, room, "muted")
    lines = [head.join(body[0]).facing(said, width) if who else head.join(body[0])]
    lines += [Line().gap(indent).join(line) for line in body[1:]]
    return [*lines, *(paragraph(first.note, width, "muted", indent=indent) if first.note else [])]


TIME = 7
"""Width of a time: `~11:50a`."""


def _chips(
    doings: Sequence[Doing], reads: dict[int, Look], mark: int | None, room: int, shades: Shades
) -> list[Line]:
    """Readings of one moment: chip, spot and L*; of several, the marked one is bold."""
    lines = [Line()]
    several = len(doings) > 1
    for doing in doings:
        look = reads[doing.number]
        words = f"{_spot(look)} {look.reading.L:.0f}" + "".join(f", {one}" for one in _states(look))
        marked = several and doing.number == mark
        part = (
            swatch.solid(look.hex, CHIP, *shades)
            .gap(1)
            .put(words, "accent" if marked else "text", bold=marked)
        )
        if lines[-1].width and lines[-1].width + 2 + part.width > room:
            lines.append(Line())
        lines[-1].gap(2 if lines[-1].width else 0).join(part)
    return [line.crop(room) for line in lines]


def _spot(look: Look) -> str:
    spot = look.reading.spot
    return f"sample {look.reading.sample}" if look.apart else SHORT.get(spot, spot)


def _states(look: Look) -> list[str]:
    """Only what is unusual: dry and bare are the default."""
    return [name for name, is_so in (("damp", look.reading.damp), ("sealed", look.reading.sealed)) if is_so]


def entry(view: JobView, mark: int | None, width: int, most: int) -> list[Line]:
    """All about the marked entry, in a fixed number of rows, so that nothing jumps."""
    if mark is None:
        return []
    doings = [doing for doing in view.page.doings if doing.current]
    rows = min(max((len(_whole(doing, width)) for doing in doings), default=0), most)
    found = next((_whole(doing, width) for doing in doings if doing.number == mark), [])
    shown = clip(found, rows, width) if found else []
    return [rule(width), *shown, *(Line() for _ in range(rows - len(shown)))]


def _whole(doing: Doing, width: int) -> list[Line]:
    """Without day and time: the list above has them."""
    return paragraph(f"Entry {doing.number}: {'; '.join((doing.what, *doing.further))}", width, "muted")


# looks


def looked(view: JobView, width: int, shades: Shades = PLAIN) -> list[Line]:
    """Readings, oldest first: age, chip, spot, name, and figures that fit."""
    if not view.looks:
        return paragraph("No color read yet.", width)
    rows = [("", "", "", "L*", "a*", "b*", "", "sd of L*"), *_cells(view.looks)]
    chips = [Line().gap(CHIP), *(swatch.solid(look.hex, CHIP, *shades) for look in view.looks)]
    for left_out in ((), (4, 5), (4, 5, 7)):
        widths = _widths(rows, left_out)
        over = sum(widths.values()) + 2 * len(widths) - 1 + CHIP - width
        if over <= 0:
            break
    if over > 0 and 2 in widths:
        widths[2] = max(widths[2] - over, NAME_LEAST)
    lines = (_columns(row, chip, widths) for row, chip in zip(rows, chips, strict=True))
    return [line.crop(width) for line in lines]


def _cells(looks: Sequence[Look]) -> Iterator[tuple[str, ...]]:
    """An age is shown once, at its first reading."""
    before = ""
    for look in looks:
        reading = look.reading
        figures = (f"{reading.L:.0f}", f"{reading.a:.1f}", f"{reading.b:.1f}")
        state = f"{'damp ' if reading.damp else ''}{'sealed' if reading.sealed else 'bare'}"
        sd = f"± {reading.sd_L:g} (one sd)" if reading.sd_L is not None else ""
        now = age(look)
        yield ("" if now == before else now, _spot(look), look.name,
               *(f.replace("-", "−") for f in figures), state, sd)  # fmt: skip
        before = now


def _widths(rows: list[tuple[str, ...]], left_out: tuple[int, ...]) -> dict[int, int]:
    filled = [any(row[at] for row in rows[1:]) for at in range(len(rows[0]))]
    shown = [at for at, some in enumerate(filled) if some and at not in left_out]
    return {at: max(cell_len(plain(row[at])) for row in rows) for at in shown}


def _columns(row: tuple[str, ...], chip: Line, widths: dict[int, int]) -> Line:
    """Chip, spot and name, then muted figures aligned at the right."""
    line = Line()
    for at, wide in widths.items():
        line.gap(2 if line.width else 0)
        if at == 1:
            line.join(chip).gap(1)
        text = Line().put(fit(plain(row[at]), wide), "text" if at in (1, 2) else "muted")
        line.join(Line().facing(text, wide, 0) if at in (3, 4, 5) else text.to(wide))
    return line


def age(look: Look) -> str:
    """Age in days; the month if the end of the pour is unknown."""
    from finishlog.desk import words

    return f"day {look.age_days}" if look.age_days is not None else words.month(look.on)
