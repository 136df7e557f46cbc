"""Paints the rinse helper's answer: the ladder now and at final color, or what to do without one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.paint import swatch
from finishlog.tui.paint.ink import Line, hanging, heading, paragraph

if TYPE_CHECKING:
    from finishlog.desk.rinse.rinse import RinseAnswer, RinseRung
    from finishlog.tui.desks.photo import RinseView
    from finishlog.tui.paint.theme import Depth

LEFT = 26
"""Width of a rung's words."""
TO_DO = (
    "Dry three hand-sized spots with a towel and a cool blower, and give them hours: one in the field, and on the kept "
    "sample or a hidden edge one fully rinsed and one unrinsed.",
    "Get all three and the color card in one picture, in even light.",
    "Press p to box them, or e to type their colors as L,a,b.",
)


def answer(view: RinseView, width: int, depth: Depth, dark: bool, *, typed: bool) -> list[Line]:
    """The ladder first; without an answer, what to do: the title has the reason."""
    found = view.answer
    if found.left.verdict == "cannot tell":
        lines = [*_to_do(width), Line(), *_how_sure(found, width)]
    elif view.spots is None:
        lines = [*_facts(found, width), Line(), *_to_do(width)]
    else:
        lines = [*ladder(view, width, depth, dark), *_facts(found, width)]
    if found.meanwhile:
        lines += [Line(), *heading("While the spots dry", width)]
        lines += [line for text in found.meanwhile for line in hanging(Line().muted("· "), text, width)]
    lines += [Line(), *heading("Mind", width)]
    for caution in found.cautions:
        lines += hanging(Line().put("! ", "warn"), caution.text, width, "text")
    for note in found.notes:
        lines += hanging(Line().muted("· "), note, width, "muted")
    return [*lines, *paragraph("Sources: " + "; ".join(found.sources), width, "muted")]


def _to_do(width: int) -> list[Line]:
    return [
        line
        for number, text in enumerate(TO_DO, 1)
        for line in hanging(Line().bold(f"{number} ", "accent"), text, width)
    ]


def _how_sure(found: RinseAnswer, width: int) -> list[Line]:
    sure = f"Release left ± {found.left.sd * 100:.0f} % (one standard deviation)"
    text = f"{sure}; a rough answer needs ± 10 % or better."
    return paragraph(text, width, "muted")


def _facts(found: RinseAnswer, width: int) -> list[Line]:
    from finishlog.desk.rinse import words

    return [line for label, text in words.facts(found) for line in _labeled(label, text, width)]


def _labeled(label: str, text: str, width: int) -> list[Line]:
    head = Line().muted(label).to(14)
    return hanging(head, text, width)


def ladder(view: RinseView, width: int, depth: Depth, dark: bool) -> list[Line]:
    """The slab in two columns, now and at final color; most release left on top."""
    from finishlog.desk.rinse import words

    cells = (width - LEFT - 3) // 2
    lines = _columns_head(view.answer, cells)
    rungs = view.answer.ladder
    for rung, name in zip(rungs, words.names([each.left for each in rungs]), strict=True):
        lines += [*_rung(view, rung, name, cells, depth, dark), Line()]
    marks = (
        Line().put("►", "accent").muted(" this slab").gap(3).put("=", "accent").muted(" the slab to match")
    )
    return [*lines, marks.gap(3).put("+", "accent").muted(" wanted").crop(width), Line()]


def _columns_head(found: RinseAnswer, cells: int) -> list[Line]:
    from finishlog.desk.rinse.words import contrast

    now = contrast(found.contrast_now_de00) if found.contrast_now_de00 is not None else "unknown"
    then = contrast(found.settled.contrast_de00) if found.settled else "unknown"
    days = f"At {found.final_day} days: "
    row = Line().gap(LEFT).put(_fit(f"Now: low spots {now}", f"Now: {now}", cells)).to(LEFT + cells + 3)
    short = f"Day {found.final_day}: {then}"
    row.put(_fit(f"{days}low spots {then}", _fit(days + then, short, cells), cells))
    return [row.crop(LEFT + 2 * cells + 3)]


def _fit(text: str, shorter: str, cells: int) -> str:
    return text if len(text) <= cells else shorter


def _rung(view: RinseView, rung: RinseRung, name: str, cells: int, depth: Depth, dark: bool) -> list[Line]:
    """Two rows: the share in words with its marks, and its figure. One rung is the slab now."""
    here, match = "here now" in rung.marks, "the slab to match" in rung.marks
    mark = "►" if here else "=" if match else "+" if "wanted" in rung.marks else " "
    word = ", ".join(rung.marks)
    head = Line().put(mark, "accent").gap(1).bold(name).gap(2).muted(word).to(LEFT)
    sd = f" ± {view.answer.left.sd * 100:.0f}" if "here now" in rung.marks else ""
    under = Line().gap(2).muted(f"{rung.left * 100:.0f} %{sd} left").to(LEFT)
    look = view.look
    now = _slab(look.base_now, look.release_now, rung, cells, depth, dark)
    then = _slab(look.base_settled, look.release_settled, rung, cells, depth, dark)
    return [row.join(a).gap(3).join(b) for row, a, b in zip((head, under), now, then, strict=True)]


def _slab(base: str, release: str, rung: RinseRung, cells: int, depth: Depth, dark: bool) -> list[Line]:
    if not base or not release:
        return [Line().muted("unknown").to(cells), Line().gap(cells)]
    return swatch.mottle(base, release, rung.left * 100, cells, 2, depth, dark)
