"""Paints a photo's readings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.errors import FinishlogError, InputError
from finishlog.tui.paint import swatch
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.photo.places import GRAY, LETTERS, SIDES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from finishlog.desk.photo.measured import Measured, SpotRead
    from finishlog.tui.paint.theme import Depth
    from finishlog.tui.photo.places import Spot

WIDE = 30
GOOD_DE00 = 4.0
"""Largest leave-one-out median ΔE00 of a good picture (our rule, no source)."""


def sentence(found: Measured) -> str:
    """How far to trust the colors, in one sentence."""
    if found.card is None:
        return "Rough, by a gray card alone: a 24-patch card tells colors far better."
    off = found.card.loo_median_de00
    held = f"the card's colors hold within ΔE00 {off:.1f} (median)"
    found_how = "" if found.method == "card found" else " Corners by hand."
    return f"{'A good picture' if off <= GOOD_DE00 else 'Usable, roughly'}: {held}.{found_how}"


def refused(error: FinishlogError) -> str:
    """Why nothing was read, and the remedy in terms of the screen, not of the command line."""
    if isinstance(error, InputError) and error.where == "--corners":
        return (
            "No card search: the extra finishlog[card] is not installed. Drag its corners to it, or Tab to them;"
            " g boxes a gray card."
        )
    return " ".join(part for part in (error.title, error.cause) if part)


def told(
    boxes: Sequence[Spot], chosen: int, found: Measured | None, width: int, depth: Depth, dark: bool
) -> list[Line]:
    """Per box: name, color in words, swatch, L* ±, Munsell; then the marked thing."""
    by_name = {spot.shows: spot for spot in found.spots} if found else {}
    lines: list[Line] = []
    for at, box in enumerate(boxes):
        mark = Line().put("►" if at == chosen else " ", "accent").gap(1)
        name = f"{LETTERS[at]} {box.shows}"
        if not box.there and at != chosen:
            absent = "not in it" if width >= WIDE else "–"
            lines.append(mark.muted(name).facing(Line().muted(absent), width))
            continue
        lines.append(mark.bold(name).crop(width))
        if box.shows == GRAY:
            lines += paragraph("gives the light only; g goes back to a 24-patch card", width, indent=4)
        elif not box.there:
            lines += paragraph("not in this picture; Space adds it", width, indent=4)
        else:
            lines += _read(by_name.get(box.shows), width, depth, dark)
    if boxes[-1].shows != GRAY:
        lines += [Line(), *_corners(len(boxes), chosen, width)]
    if by_name:
        lines += paragraph("± is one standard deviation", width, "muted")
    for note in _notes(found) if found else ():
        lines += paragraph(note, width, "warn")
    return lines


def _notes(found: Measured) -> Sequence[str]:
    """A gray card's first remark is left out: the sentence has it."""
    return found.notes[1:] if found.card is None and not found.camera_photos else found.notes


def _read(spot: SpotRead | None, width: int, depth: Depth, dark: bool) -> list[Line]:
    if spot is None:
        return [Line().gap(4).muted("not read").crop(width)]
    L, a, b = (f"{value:.0f}".replace("-", "−") for value in spot.lab)
    figures = Line().gap(4).join(swatch.solid(spot.hex, 6, depth, dark))
    figures.gap(2).put(f"L* {L} ± {max(spot.lab_sd[0], 0.1):.0f}")
    more = [part for part in (spot.munsell, f"a* {a} b* {b}") if part]
    one = ", ".join(more)
    near = "≈ " if depth == "gray" else ""
    return [
        *paragraph(near + spot.name, width, indent=4),
        figures.crop(width),
        *(Line().gap(4).muted(row).crop(width) for row in ([one] if len(one) + 4 <= width else more)),
    ]


def _corners(boxes: int, chosen: int, width: int) -> list[Line]:
    """Which corner is marked; the picture shows where they are."""
    if chosen < boxes:
        return [Line().gap(2).muted("┌ ┐ ┘ └ card's corners").crop(width)]
    mark = Line().put("►", "accent").gap(1)
    return [mark.bold(f"card, {SIDES[chosen - boxes]}").crop(width)]
