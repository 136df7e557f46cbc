"""The joint: old and new slab, a saw cut between, release color in the low spots.

Words replace the picture if the terminal shows no colors.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from finishlog.tui.paint import swatch
from finishlog.tui.paint.glyphs import Piece
from finishlog.tui.paint.ink import Line, hanging
from finishlog.tui.paint.theme import lightness

if TYPE_CHECKING:
    from finishlog.tui.paint.theme import Depth

CUT = "║"
LABEL = 5


@dataclass(frozen=True, slots=True)
class Slab:
    """One side: its state in words ("bare, Sep 2026"), colors in sRGB hex with their plain names.

    `left_percent` is the share the release color covers; None if not measured. `says` goes under the
    picture. `like_old`: the new slab as wanted, with no color of its own.
    """

    state: str
    base: str
    says: str
    release: str | None = None
    release_name: str = ""
    left_percent: float | None = None
    like_old: bool = False


def paint(old: Slab, new: Slab, width: int, rows: int, depth: Depth, dark: bool) -> list[Line]:
    """Caption, picture, and a line on each side under it."""
    if depth == "glyphs":
        return [*_words("OLD", old, width), *_words("NEW", new, width)]
    left, right = (width - 1) // 2, width - 1 - (width - 1) // 2
    caption = _caption("OLD", old, left - 1).to(left).put(CUT, "rule")
    lines = [caption.join(Line().facing(_caption("NEW", new, right - 1), right))]
    for a, b in zip(_half(old, left, rows, depth, 0), _half(new, right, rows, depth, 1), strict=True):
        lines.append(a.join(_cut()).join(b))
    says = Line().put(f"≈ {old.says}" if depth == "gray" else old.says)
    return [*lines, *_under(says, new.says, left, width)]


def _caption(name: str, slab: Slab, room: int) -> Line:
    """Name, state and share of release color; the share is cut first."""
    share = f", {_left(slab)}" if slab.release and slab.left_percent is not None else ""
    line = Line().bold(name).gap().muted(slab.state)
    return line.muted(share) if line.width + len(share) <= room else line.crop(room)


def _left(slab: Slab) -> str:
    return f"{slab.left_percent:.0f} % release"


def _half(slab: Slab, cells: int, rows: int, depth: Depth, seed: int) -> list[Line]:
    """Each side has its own pattern; without a release color, the stamp's relief only."""
    if slab.release is None:
        slab = replace(slab, release=swatch.shaded(slab.base))
    return swatch.mottle(slab.base, slab.release, slab.left_percent, cells, rows, depth, True, seed=seed)


def _cut() -> Line:
    return Line(Piece(CUT, "rule"))


def _under(old: Line, new: str, left: int, width: int) -> list[Line]:
    """The new side's words at the right edge; in their own row if they do not fit."""
    if len(new) + left + 3 <= width:
        return [old.crop(left).facing(Line().put(new), width)]
    return [old.crop(width), Line().facing(Line().put(new), width, 0)]


def _words(name: str, slab: Slab, width: int) -> list[Line]:
    """The joint in words, with the lightness that glyphs cannot show."""
    head = Line().bold(name).to(LABEL)
    if slab.like_old:
        return hanging(head, f"{slab.state}; {slab.says}", width)
    said = f"{slab.state}: {slab.says}, L* {lightness(slab.base):.0f}"
    if slab.release:
        share = _left(slab) if slab.left_percent is not None else "release, amount not measured"
        color = f" {slab.release_name}," if slab.release_name else ""
        said += f"; {share},{color} L* {lightness(slab.release):.0f}"
    return hanging(head, said, width)
