"""Blend on the bench: pigments that reach a color, going by the shop's own samples."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog import units
from finishlog.errors import InputError
from finishlog.tui.forms.fields import Field, asks
from finishlog.tui.paint import swatch
from finishlog.tui.paint.ink import Line, hanging, heading, paragraph
from finishlog.tui.paint.theme import lightness

if TYPE_CHECKING:
    from finishlog.desk.blend.blend import BlendAnswer
    from finishlog.tui.desks.photo import BlendView
    from finishlog.tui.desks.whole import Desks
    from finishlog.tui.paint.theme import Depth

Painter = Callable[[int], "list[Line]"]
LABEL = 12
CELLS, RUNG = 8, 3
"""Cells per color side by side, and per rung of the ladder."""
UNKNOWN = "not known"


def specs(system: str) -> tuple[Field, ...]:
    """The form's fields; contents in `system` units, samples and ladder as CSV paths."""

    def content(text: str) -> str:
        return units.write("content_lb_per_yd3", units.read("content_lb_per_yd3", text), system)

    return (
        asks("target", "Wanted color", _color, hint="58,9,17 or 7.5YR 6/4"),
        asks("pigments", "Pigments", hint="Rust,Straw; blank: all"),
        asks("cement", "Cement", hint="samples of this kind only"),
        asks("most", "At most", hint="8 % of all, or Rust=6"),
        asks("samples", "Samples", hint="a CSV sheet; blank: the log", gap=True),
        asks("ladder", "Ladder as read", hint="a CSV sheet like it"),
        asks("cementitious", "Cementitious", content, hint="lb/yd³; blank: the usual"),
        asks("scm", "Other cement", content, hint="fly ash, slag… blank: none"),
    )


def _color(text: str) -> str:
    from finishlog.color.notation.names import nearest_name
    from finishlog.inputs import colors

    return nearest_name(colors.read(text).lab)


def answer(desks: Desks, values: Mapping[str, str], system: str) -> tuple[str, Painter]:
    """The sentence, and the painter of the rest. Raises InputError, with the field where one is to blame."""
    from finishlog.desk.blend import words

    try:
        view = desks.blend(values)
    except InputError as wrong:
        if wrong.where.startswith("--"):
            raise InputError(wrong.title, wrong.cause) from None
        raise
    return words.sentence(view.answer), Colored(view, system)


@dataclass(frozen=True, slots=True)
class Colored:
    """A painter that can use colors; shade glyphs by default."""

    view: BlendView
    system: str

    def __call__(self, width: int, depth: Depth = "glyphs", dark: bool = True) -> list[Line]:
        found = self.view.answer
        return [
            *wanted_and_expected(self.view, width, depth, dark),
            *_doses(found, self.system, width),
            *([ladder(self.view, width, depth, dark)] if found.ladder else []),
            Line(),
            *paragraph(found.advice, width),
            *_behind(found, self.system, width),
            *_rungs(found, width),
            *_doubts(found, width),
            *paragraph("Sources: " + "; ".join(found.sources), width, "muted"),
        ]


def wanted_and_expected(view: BlendView, width: int, depth: Depth, dark: bool) -> list[Line]:
    """The target color beside the expected one; in words without colors."""
    (wanted, name), reached = view.wanted, view.reached
    what = "nearest" if view.answer.verdict == "out of reach" else "expected"
    if depth == "glyphs":
        said = f"{name}, L* {lightness(wanted):.0f}"
        rows = hanging(Line().bold("wanted").to(LABEL), said, width)
        said = f"{reached[1]}, L* {lightness(reached[0]):.0f}; {view.compared}" if reached else UNKNOWN
        return [*rows, *hanging(Line().bold(what).to(LABEL), said, width)]
    line = Line().bold("wanted ").join(swatch.solid(wanted, CELLS, depth, dark)).put("║", "rule")
    line.join(swatch.solid(reached[0], CELLS, depth, dark) if reached else Line().muted("·" * CELLS))
    line.bold(f" {what}" if reached else f" {UNKNOWN}").gap(3)
    mark = "≈ " if depth == "gray" else ""
    if not reached:
        return [line.muted(f"{mark}{name}").crop(width)]
    words_ = f"{mark}{reached[1]}, {view.compared}"
    if line.width + len(words_) <= width:
        return [line.muted(words_)]
    return [line, *hanging(Line().gap(7), words_, width, "muted")]


def ladder(view: BlendView, width: int, depth: Depth, dark: bool) -> Line:
    """The samples to pour, lightest first; without colors, their lightness."""
    line = Line().bold("Ladder")
    names = [f" ×{rung.factor:g} " for rung in view.answer.ladder]
    room = (width - line.width - sum(map(len, names)) - len(names) + 1) // len(names)
    for name, color in zip(names, view.ladder, strict=True):
        line.gap(0 if line.width == len("Ladder") else 1).muted(name)
        if depth == "glyphs":
            line.put(f"L* {lightness(color):.0f}")
        else:
            line.join(swatch.solid(color, max(min(room, RUNG), 1), depth, dark))
    return line.crop(width)


def _doses(found: BlendAnswer, system: str, width: int) -> list[Line]:
    """Name, percent and pounds of each pigment, then the total."""
    from finishlog.desk.blend import words

    none = {name for name, percent in found.found.doses.items() if not percent} if found.found else set()
    rows = [row[:3] for row in words.dose_lines(found, system) if row[1] and row[0] not in none]
    if not rows:
        return []
    _, percents, doses = (max(len(row[i]) for row in rows) for i in range(3))
    names = min(max(len(row[0]) for row in rows), width - percents - doses - 4)
    return [
        Line().put(name).to(names + 2).bold(percent.rjust(percents)).gap(2).bold(dose.rjust(doses))
        for name, percent, dose in rows
    ]


def _behind(found: BlendAnswer, system: str, width: int) -> list[Line]:
    """The limit of the total, and both colors in figures."""
    from finishlog.desk.blend import words

    rows = [row for row in words.dose_lines(found, system) if len(row) > 3 and row[3]]
    return [line for row in rows for line in hanging(Line().muted(row[0]).to(LABEL), row[3], width, "muted")]


def _rungs(found: BlendAnswer, width: int) -> list[Line]:
    from finishlog.desk.blend import words

    if not found.ladder:
        return []
    lines = [Line(), *heading("Ladder to pour", width)]
    for factor, doses, color in words.ladder_lines(found):
        lines += hanging(Line().bold(factor).to(8), f"{doses}   {color}", width)
    return lines


def _doubts(found: BlendAnswer, width: int) -> list[Line]:
    texts = [*(one.why for one in found.unknown), *(one.text for one in found.cautions)]
    lines = [line for text in texts for line in hanging(Line().put("! ", "warn"), text, width, "warn")]
    return [Line(), *lines] if lines else []
