"""`color --rests-on`: every starting value, its spread, and what it stands on."""

from __future__ import annotations

from collections import Counter
from typing import Any

from finishlog.cli.output import bullets, table
from finishlog.color.priors.figures import TABLE, Figure
from finishlog.desk.plain_data import pick

HEAD = (
    "What color goes by until your own readings teach it: value ± one standard deviation, then what it rests on. "
    "Size judged: which way is published, how much is judgment."
)


def sheet() -> str:
    """The table as text, group by group."""
    return "\n\n".join([bullets([HEAD], indent=0), *map(_group, TABLE), bullets([_counted()], indent=0)])


def as_json() -> list[dict[str, Any]]:
    """Every figure as plain data."""
    return [
        {"group": title, **pick(figure, "name value sd unit basis source")}
        for title, group in TABLE
        for figure in group
    ]


def _group(told: tuple[str, tuple[Figure, ...]]) -> str:
    title, figures = told
    width = max(len(figure.name) for _, group in TABLE for figure in group)
    parts = [title]
    for figure in figures:
        parts.append(table([(figure.name.ljust(width), amount(figure))], indent=2))
        parts.append(bullets([": ".join(filter(None, (figure.basis, figure.source)))], indent=6))
    return "\n".join(parts)


def amount(figure: Figure) -> str:
    """Value, sd and unit of a figure, as printed."""
    told = [", ".join(f"{value:g}" for value in figure.value)] if figure.value else []
    if figure.sd:
        told.append("± " + ", ".join(f"{sd:g}" for sd in figure.sd))
    return f"{' '.join(told)} ({figure.unit})"


def _counted() -> str:
    counts = Counter(figure.basis for _, group in TABLE for figure in group)
    return "Together: " + ", ".join(f"{number} {basis}" for basis, number in counts.most_common()) + "."
