"""What a read slab was made with, as far as its loads say."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from finishlog.desk import words
from finishlog.desk.color.slabs import key_of

if TYPE_CHECKING:
    from finishlog.color.aging.effects import Factor
    from finishlog.records.answers import LearningRow, MadeRow


def by_slab(rows: Iterable[LearningRow], made_rows: Iterable[MadeRow]) -> dict[str, dict[Factor, str]]:
    """What every slab of these readings was made with, by key; samples poured apart left out."""
    made: dict[str, list[MadeRow]] = {}
    for row in made_rows:
        made.setdefault(row.job, []).append(row)
    slabs = dict.fromkeys((row.job, row.area) for row in rows if not row.apart)
    return {key_of(*slab): levels(made.get(slab[0], ()), *slab) for slab in slabs}


def levels(rows: Sequence[MadeRow], job: str, area: str | None) -> dict[Factor, str]:
    """What a slab was made with; what one of its loads does not say is unknown."""
    own = [row for row in rows if row.job == job and (not row.areas or area is None or area in row.areas)]
    if not own:
        return {}
    found: dict[Factor, str | None] = {
        "lot": joined(lot for row in own for lot in row.lots),
        "maker": joined(maker for row in own for maker in row.makers),
        "cement": joined(row.cement_kind for row in own),
        "content": joined(content(row.cement_lb_per_yd3, row.scm_lb_per_yd3) for row in own),
        "plant": joined(row.plant for row in own),
        "season": words.season(own[-1].happened.date()),
    }
    return {factor: level for factor, level in found.items() if level}


def joined(levels: Iterable[str | None]) -> str | None:
    """Several in one slab are a level of their own; None where one of them is unknown."""
    held = set(levels)
    known = sorted(level.casefold() for level in held if level)
    return " + ".join(known) if known and len(known) == len(held) else None


def content(cement: Fraction | float | None, scm: Fraction | float | None) -> str | None:
    """Cement and other cementitious of a yard, lb, as one level."""
    return None if cement is None else f"{float(cement):g} + {float(scm or 0):g}"
