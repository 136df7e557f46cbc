"""The ladder among logged samples: how to recognize it, and how to log a rung."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from finishlog.color.notation.space import Lab, difference
from finishlog.records.color import SampleRow
from finishlog.units import exact, plain

FEWEST = 3
"""Fewest samples of one ratio that make a ladder."""
SPAN = 1.6
"""How many times the least of it the most may be: rungs go from .8 to 1.2."""
ALIKE = 0.02
"""How far the shares of a pigment may lie apart, weighed as they are to a hundredth of a percent."""
NEAR = 5.0
"""ΔE00 from the wanted color to the nearest rung: what a ladder misses by is only true around it."""


def among(rows: Sequence[SampleRow], target: Lab) -> tuple[SampleRow, ...]:
    """The samples that were poured as a ladder around this color; none where there are none.

    Known by their doses: the same pigments in one ratio, close together. Of several the one nearest to the color.
    """
    groups = [group for row in rows if len(group := _from(row, rows)) >= FEWEST]
    off = [(min(difference(target, row.lab).de00 for row in group), -len(group)) for group in groups]
    best = min(range(len(groups)), key=lambda i: off[i], default=None)
    return groups[best] if best is not None and off[best][0] <= NEAR else ()


def _from(least: SampleRow, rows: Sequence[SampleRow]) -> tuple[SampleRow, ...]:
    """Those of the same ratio that hold as much or more, up to `SPAN` times as much."""
    total, shares = _shares(least)
    if not total:
        return ()
    found = []
    for row in rows:
        more, own = _shares(row)
        same = all(abs(own.get(name, 0.0) - shares.get(name, 0.0)) <= ALIKE for name in {*own, *shares})
        if same and total <= more <= SPAN * total:
            found.append(row)
    return tuple(found)


def _shares(row: SampleRow) -> tuple[float, Mapping[str, float]]:
    total = sum(row.doses.values())
    return total, {name: dose / total for name, dose in row.doses.items() if dose} if total else {}


def how_to_log(doses: Mapping[str, float], most: int) -> Iterator[str]:
    """The two commands by which a rung comes into the log; none where it holds more pigments than can be logged."""
    used = [(name, percent) for name, percent in doses.items() if percent]
    if 0 < len(used) <= most:
        ends = ("", *(f"_{nth}" for nth in range(2, most + 1)))
        held = " ".join(
            f'--set "pigment{end}={name}" --set percent{end}={plain(exact(percent), 2)}'
            for end, (name, percent) in zip(ends, used, strict=False)
        )
        yield f"finishlog record JOB sample {held}"
        yield "finishlog record JOB reading --set sample=NUMBER --set color=L,a,b"
