"""The line under the find box: what to type, or the color searched for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.desks import looking
from finishlog.tui.paint import swatch, wording
from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.theme import lightness

if TYPE_CHECKING:
    from finishlog.records.log import Page
    from finishlog.tui.paint.theme import Depth

HINT = "street, season, shade, ticket, or a scrap of a name"
PHOTO_HINT = "a photo's path; Enter opens it to box the color"
WITH_ARCHIVED = "with archived jobs; Ctrl+P, “archived jobs”, hides them again"


def paint(
    page: Page | None, words: str, width: int, depth: Depth, dark: bool, *, archived: bool
) -> list[Line]:
    """It also says if the terminal cannot show the list's colors."""
    chips = page is not None and any(line.base_hex for line in page.lines)
    asked = page.asked if page is not None else None
    notes = wording.cannot_show(depth, width) if chips or asked else []
    if looking.photo_path(words) is not None:
        return [Line().muted(PHOTO_HINT).crop(width), *notes]
    if asked is not None and looking.is_color(words):
        return [_asked(*asked, depth, dark).crop(width), *notes]
    return [Line().muted(WITH_ARCHIVED if archived else HINT).crop(width), *notes]


def _asked(color: str, name: str, depth: Depth, dark: bool) -> Line:
    if depth == "glyphs":
        return Line().bold("asked").gap(2).put(f"{name}, L* {lightness(color):.0f}")
    said = f"≈ {name}" if depth == "gray" else name
    return swatch.solid(color, swatch.CHIP, depth, dark).gap(2).bold("asked").gap(2).put(said)
