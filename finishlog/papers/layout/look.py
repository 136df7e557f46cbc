"""Common data of all sheets, and graphics that several share."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from finishlog.papers.layout import style
from finishlog.papers.layout.frame import Cell, Frame
from finishlog.papers.layout.style import Color
from finishlog.records.log import Reading
from finishlog.records.shop import Shop
from finishlog.units import exact, fixed, write_date


@dataclass(frozen=True, slots=True)
class Look:
    """The sheets' shop, print time (in the shop's zone), units and settings."""

    made: datetime
    shop: Shop
    shop_name: str | None = None
    units: str = "us"
    contact: str = ""
    """Street, phone and e-mail of the shop, as far as they are set."""

    @property
    def printed(self) -> str:
        """When it was printed, for the foot."""
        return f"printed {write_date(self.made.date())}"


def color_of(reading: Reading) -> Color:
    """The reading in sRGB, clipped to its gamut."""
    from finishlog.color.notation.space import lab_to_srgb

    return lab_to_srgb((reading.L, reading.a, reading.b))


def name_of(reading: Reading) -> str:
    """The plain name nearest to the reading, as in a sentence."""
    from finishlog.color.notation.names import nearest_name

    return nearest_name((reading.L, reading.a, reading.b))


def lab_of(reading: Reading) -> str:
    """`L* 60.8  a* 5.9  b* 16.7`."""
    values = (("L*", reading.L), ("a*", reading.a), ("b*", reading.b))
    return "  ".join(f"{axis} {fixed(exact(value), 1)}" for axis, value in values)


def swatch(frame: Frame, reading: Reading, title: str, height: float = 20.0, lab: bool = True) -> None:
    """A swatch over the whole column with title, plain name and figures under it."""
    frame.need(height + 4 * style.SMALL.lead)
    frame.swatch(frame.x, frame.y, frame.width, height, color_of(reading))
    frame.skip(height + 1.5)
    frame.row((Cell(title + _state(reading), type=style.SMALL_STRONG),))
    frame.row((Cell(name_of(reading), type=style.SMALL),))
    if lab:
        frame.row((Cell(lab_of(reading), type=style.LABEL),))
    frame.skip(3)


def _state(reading: Reading) -> str:
    """Why a reading is not the dry, bare color."""
    return (", sealed" if reading.sealed else "") + (", damp" if reading.damp else "")


def figures(frame: Frame, items: list[tuple[str, str, str]]) -> None:
    """Key figures, large, side by side: label above, words below."""
    columns = frame.split(len(items))
    for column, (label, figure, text) in zip(columns, items, strict=True):
        column.row((Cell(label, type=style.LABEL),))
        column.row((Cell(figure, type=style.FIGURE),))
        column.skip(1)
        column.row((Cell(text, type=style.SMALL),))
    frame.join(columns)
