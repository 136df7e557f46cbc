"""Small words for lists and titles, made without the desks, for a fast first frame."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from finishlog.tui.paint.ink import Line

if TYPE_CHECKING:
    from datetime import date

    from finishlog.records.log import JobLine
    from finishlog.tui.desks.views import JobView, Look
    from finishlog.tui.paint.theme import Depth

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
CANNOT_SHOW = "This terminal cannot show these colors. Go by the words."


def cannot_show(depth: Depth, width: int) -> list[Line]:
    """A note if the terminal cannot show colors as they are."""
    return [] if depth == "full" else [Line().muted(CANNOT_SHOW).crop(width)]


def name(line: JobLine) -> str:
    """`Customer · job name`."""
    return f"{line.customer} · {line.name}" if line.name else line.customer


def month(day: date) -> str:
    """`Jun 2026`."""
    return f"{_MONTHS[day.month - 1]} {day.year}"


def when(line: JobLine) -> str:
    """The pour's month; `planned`, or a word if the day is unknown."""
    if line.state == "archived":
        return f"archived, {month(line.poured_on)}" if line.poured_on else "archived"
    if line.poured_on is not None:
        return month(line.poured_on)
    if line.state == "poured":
        return "date unknown"
    return f"planned {month(line.planned_on)}" if line.planned_on else "planned"


def beside(line: JobLine) -> str:
    """At the right of a job's name: when, and how far from the color asked for."""
    if line.de00 is None:
        return when(line)
    from finishlog.color.notation.words import nearness

    return f"{nearness(line.de00)}, ΔE00 {line.de00:.1f}   {when(line)}"


def color(line: JobLine, depth: Depth) -> str:
    """The base color's plain name, with `≈` if the terminal shows only lightness."""
    if line.color_name is None:
        return "no color read yet"
    return f"≈ {line.color_name}" if depth == "gray" else line.color_name


def parts(line: JobLine) -> list[str]:
    """Shades and pattern."""
    shades = " + ".join(shade for shade in (line.base, line.release) if shade)
    return [part for part in (shades, line.pattern) if part]


def poured(view: JobView) -> str:
    """The fact at the right of a job's title."""
    from finishlog.desk import words

    return words.poured(view.page)


def measured(look: Look) -> Line:
    """Munsell, L*a*b* and uncertainty, muted."""
    reading = look.reading
    figures = f"L* {reading.L:.0f}  a* {reading.a:.1f}  b* {reading.b:.1f}".replace("-", "−")
    line = Line().muted(f"{look.munsell}   {figures}" if look.munsell else figures)
    return line.muted(f"   sd {reading.sd_L:g}") if reading.sd_L is not None else line


_OPTION = re.compile(r"--([a-z][a-z-]*) ")
_NEXT = re.compile(r" --([a-z][a-z-]*) ")


def without_options(text: str) -> str:
    """A desk's sentence for a screen: field names instead of command-line options."""
    if len(_OPTION.findall(text)) < 2:
        return _OPTION.sub("", text)
    first = _OPTION.sub(lambda match: f"{match[1].replace('-', ' ')} ", text, count=1)
    return _NEXT.sub(lambda match: f", {match[1].replace('-', ' ')} ", first)
