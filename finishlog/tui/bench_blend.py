"""Blend on the bench: a wanted color, and the pigments that the shop's own samples say reach it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog import units
from finishlog.errors import InputError
from finishlog.tui.forms import Spec
from finishlog.tui.ink import Line, hanging, heading, paragraph
from finishlog.tui.widgets import swatch

if TYPE_CHECKING:
    from finishlog.desk.blend import BlendAnswer
    from finishlog.tui.desks import Desks
    from finishlog.tui.desks_photo import BlendView
    from finishlog.tui.theme import Depth

Painter = Callable[[int], "list[Line]"]
LABEL = 12


def specs(system: str) -> tuple[Spec, ...]:
    def content(text: str) -> str:
        return units.write("content_lb_per_yd3", units.read("content_lb_per_yd3", text), system)

    return (
        Spec("target", "Wanted color", _color, hint="58,9,17 or 7.5YR 6/4"),
        Spec("pigments", "Pigments", _plainly, hint="Rust,Straw; blank: all"),
        Spec("cement", "Cement", _plainly, hint="samples of this kind only"),
        Spec("most", "At most", _plainly, hint="8 % of all, or Rust=6"),
        Spec("samples", "Samples", _plainly, hint="a CSV sheet; blank: the log", gap=True),
        Spec("ladder", "Ladder as read", _plainly, hint="a CSV sheet like it"),
        Spec("cementitious", "Cementitious", content, hint="lb/yd³; blank: the usual"),
        Spec("scm", "Other cement", content, hint="fly ash, slag… blank: none"),
    )


def _plainly(_text: str) -> str:
    return ""


def _color(text: str) -> str:
    from finishlog.color.names import nearest_name
    from finishlog.inputs import colors

    return nearest_name(colors.read(text).lab)


def answer(desks: Desks, values: Mapping[str, str], system: str) -> tuple[str, Painter]:
    """The sentence and what paints the rest. Raises InputError that names a field, or none."""
    from finishlog.desk import blend_words

    try:
        view = desks.blend(values)
    except InputError as wrong:
        if wrong.where.startswith("--"):
            raise InputError(wrong.title, wrong.cause) from None
        raise
    return blend_words.sentence(view.answer), Colored(view, system)


@dataclass(frozen=True, slots=True)
class Colored:
    """A painter that knows colors; without a look it paints as where there are none."""

    view: BlendView
    system: str

    def __call__(self, width: int, depth: Depth = "glyphs", dark: bool = True) -> list[Line]:
        top = [*paragraph(self.view.answer.advice, width), *_joint(self.view, width, depth, dark)]
        return [*top, *_lines(self.view.answer, self.system, width)]


def _lines(found: BlendAnswer, system: str, width: int) -> list[Line]:
    from finishlog.desk import blend_words

    lines: list[Line] = []
    rows = _filled(blend_words.dose_lines(found, system))
    column = min(max(LABEL, *(len(name) + 2 for name, *_ in rows)), width // 2) if rows else LABEL
    for name, percent, dose, more in rows:
        head = Line().muted(name).to(column).bold(" ".join(part for part in (percent, dose) if part))
        lines += hanging(head.gap(2), more, width, "muted") if more else [head.crop(width)]
    if found.ladder:
        lines += [Line(), *heading("Ladder to pour", width)]
        for factor, doses, color in blend_words.ladder_lines(found):
            lines += hanging(Line().bold(factor).to(8), f"{doses}   {color}", width)
    lines += [Line()] if found.unknown or found.cautions else []
    for text in (*(one.why for one in found.unknown), *(one.text for one in found.cautions)):
        lines += hanging(Line().put("! ", "warn"), text, width, "warn")
    return [*lines, *paragraph("Sources: " + "; ".join(found.sources), width, "muted")]


def _filled(rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    return [(*row, *("",) * (4 - len(row))) for row in rows]


def _joint(view: BlendView, width: int, depth: Depth, dark: bool) -> list[Line]:
    """Wanted and reached without a gap; out of reach leaves the right half open. Named under it."""
    (color, wanted), reached = view.wanted, view.reached
    near = view.answer.verdict not in ("out of reach", "cannot tell")
    half = min(width // 2, 24)
    rows = [swatch.solid(color, half, depth, dark) for _ in range(2)]
    for row in rows:
        row.join(
            swatch.solid(reached[0], half, depth, dark) if reached and near else Line().muted("·" * half)
        )
    said = f"; comes to {reached[1]}" if reached else "; what it comes to is not known"
    return [*rows, *paragraph(f"Wanted {wanted}{said}.", width, "muted"), Line()]
