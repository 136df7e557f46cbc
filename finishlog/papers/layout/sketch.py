"""An area's shapes drawn to one scale, each separately with its measures below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishlog.papers.layout import style
from finishlog.papers.layout.ink import Rule

if TYPE_CHECKING:
    from finishlog.desk.shape_words import Drawn
    from finishlog.papers.layout.frame import Frame
    from finishlog.trade.pour.outline import Outline

HEIGHT = 58.0
GAP = 16.0
DASH = 2.4
FAINT = 120
"""The gray of what is cut out."""


def draw(frame: Frame, shapes: Sequence[Drawn], height: float = HEIGHT) -> None:
    """Outlines up to this height side by side, wrapping into further rows."""
    if not shapes:
        return
    scale = min(
        height / max(one.outline.height_ft for one in shapes),
        frame.width * 0.5 / max(one.outline.width_ft for one in shapes),
    )
    band: list[Drawn] = []
    for one in shapes:
        if band and sum(_room(frame, each, scale) for each in (*band, one)) > frame.width:
            _band(frame, band, scale)
            band = []
        band.append(one)
    _band(frame, band, scale)


def _room(frame: Frame, one: Drawn, scale: float) -> float:
    """Width of a shape with its label and gap."""
    ink = frame.leaf.ink
    return max(one.outline.width_ft * scale, ink.width(ink.safe(one.label), style.SMALL_STRONG)) + GAP


def _band(frame: Frame, band: Sequence[Drawn], scale: float) -> None:
    high = max(one.outline.height_ft for one in band) * scale
    whole = high + style.SMALL_STRONG.lead + 8
    frame.need(whole)
    ground, x = frame.y + 3 + high, frame.x
    for one in band:
        _outline(frame, one.outline, x, ground - one.outline.height_ft * scale, scale)
        label = frame.leaf.ink.safe(one.label)
        frame.leaf.text(frame.page, x, ground + style.SMALL_STRONG.lead, label, style.SMALL_STRONG)
        x += _room(frame, one, scale)
    frame.skip(whole)


def _outline(frame: Frame, outline: Outline, x: float, y: float, scale: float) -> None:
    places = [(x + px * scale, y + py * scale) for px, py in outline.corners]
    ends = [*places[1:], places[0]] if outline.closed else places[1:]
    marks = frame.leaf.pages[frame.page]
    for (from_x, from_y), (to_x, to_y) in zip(places, ends, strict=False):
        if outline.sign > 0:
            marks.append(Rule(from_x, from_y, to_x, to_y, 0.8, style.BLACK))
        else:
            marks.extend(_dashes(from_x, from_y, to_x, to_y))


def _dashes(x: float, y: float, to_x: float, to_y: float) -> list[Rule]:
    """A dashed side of a cut-out; solid if shorter than a dash."""
    length = ((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5
    parts = max(1, int(length / DASH)) | 1
    across, down = (to_x - x) / parts, (to_y - y) / parts
    return [
        Rule(x + across * at, y + down * at, x + across * (at + 1), y + down * (at + 1), 0.6, FAINT)
        for at in range(0, parts, 2)
    ]
