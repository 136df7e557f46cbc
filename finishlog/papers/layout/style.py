"""The house style: paper, margins, sizes, grays. All in points (1/72 in), y from the top of the page.

Black on white, hairlines, no color except slabs': every sheet must survive a gray printer and a
copy of a copy. Section titles go in a side column, figures are right-aligned, cautions are small.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from finishlog.errors import InputError


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, width and height in points."""

    name: str
    width: float
    height: float


PAPERS = (Paper("letter", 612.0, 792.0), Paper("a4", 595.28, 841.89))


def paper(name: str) -> Paper:
    """The paper of that name. Raises InputError that lists them."""
    found = next((each for each in PAPERS if each.name == name.strip().lower()), None)
    if found is None:
        names = " and ".join(each.name for each in PAPERS)
        raise InputError(f"No paper size {name!r}.", f"Sizes are {names}.", where="--paper", example="a4")
    return found


@dataclass(frozen=True, slots=True)
class Type:
    """A text style: size and leading in points, weight, gray from 0 (black) to 255."""

    size: float
    lead: float
    bold: bool = False
    gray: int = 0


BLACK, MUTED, RULE, HAIR, TINT = 0, 90, 120, 170, 240

TITLE = Type(16, 20, bold=True)
ANSWER = Type(10.5, 13.5)
SIDE = Type(9, 11.6, bold=True)
BODY = Type(8.5, 10.8)
STRONG = Type(8.5, 10.8, bold=True)
FAINT = Type(8.5, 10.8, gray=MUTED)
TIGHT = Type(8, 10.4)
TIGHT_STRONG = Type(8, 10.4, bold=True)
SMALL = Type(7.4, 9.3)
SMALL_STRONG = Type(7.4, 9.3, bold=True)
LABEL = Type(7.2, 9.0, gray=MUTED)
FIGURE = Type(16, 19, bold=True)
RULING = Type(10.5, 14, bold=True)

MARGIN = 50.0
TOP = 44.0
FOOT = 34.0
"""Height of the foot line above the lower edge of the paper."""
SIDE_WIDTH = 86.0
GAP = 12.0
SECTION_GAP = 6.4

Color = tuple[int, int, int]
Align = Literal["left", "right", "center"]
