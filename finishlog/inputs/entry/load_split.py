"""An entry's area and a load's split, by area names of the job."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs.entry.details import Split

ALL = "all"
"""Typed instead of an area: the whole job."""


def choices(areas: Sequence[str]) -> tuple[str, ...]:
    """Choices for an area: each name, and the whole job if there are several."""
    return (*areas, ALL) if len(areas) > 1 else tuple(areas)


def split_example(areas: Sequence[str]) -> str:
    """A whole example of where a load went, by the job's own areas."""
    told = [f"{area}={yards}" for area, yards in zip(areas, ("3.5", "1"), strict=False)]
    return ", ".join(told) or "field=3.5, stairs=1"


def one_area(text: str, areas: Sequence[str]) -> str:
    """An area of the job by its name in any case; `all`. Raises InputError that lists the job's areas."""
    wanted = " ".join(text.casefold().split())
    for area in areas:
        if " ".join(area.casefold().split()) == wanted:
            return area
    if wanted == ALL:
        return ALL
    near = difflib.get_close_matches(wanted[:60], [area.casefold() for area in areas], n=1)
    has = f"It has {', '.join(areas)}." if areas else "It has no area yet."
    example = next((a for a in areas if a.casefold() in near), next(iter(areas), ""))
    raise InputError(f"The job has no area “{units.shown(text.strip())}”.", has, example=example)


def read_split(text: str, areas: Sequence[str]) -> Split:
    """`field=3.5, stairs=1 yd`, `field 3.5`, or an area or `all` alone; the yards may be left out.

    In yd³. Raises InputError that holds a whole example.
    """
    found: dict[str, float | None] = {}
    parts = [part.strip() for part in re.split(r"[,;]", text) if part.strip()]
    try:
        for part in parts:
            named, yards = _part_of(part, areas)
            area = one_area(named, areas)
            if area in found or (area == ALL and len(parts) > 1):
                why = "twice" if area in found else "and parts"
                raise InputError(f"“{units.shown(text)}” names {area} {why}.")
            found[area] = float(units.read_volume_yd3(yards)) if yards else None
    except InputError as wrong:
        raise InputError(wrong.title, wrong.cause, example=split_example(areas)) from None
    return tuple(found.items())


def _part_of(part: str, areas: Sequence[str]) -> tuple[str, str]:
    """The area's name and its yards as typed: `field=3.5`, `field: 3.5`, `field 3.5 yd`, `field`."""
    if match := re.fullmatch(r"(.*?)\s*[=:]\s*(.*)", part):
        return match[1], match[2]
    words = part.split()
    known = {" ".join(area.casefold().split()) for area in areas}
    for at in range(len(words), 0, -1):
        if " ".join(words[:at]).casefold() in known:
            return " ".join(words[:at]), " ".join(words[at:])
    return part, ""


def write_split(split: Split) -> str:
    """`field=3.5, stairs=1`: as `read_split` takes it."""
    told = [(area, None if yards is None else units.plain(units.exact(yards), 17)) for area, yards in split]
    return ", ".join(area if yards is None else f"{area}={yards}" for area, yards in told)


def check_split(split: Split, yards: Any) -> None:
    """Raises InputError where the areas take more yards than the load brought."""
    total = sum((units.exact(each) for _, each in split if each is not None), start=units.exact(0))
    if yards is not None and total > units.exact(yards):
        title = f"The areas take {units.plain(total)} yd³, and the load had {units.plain(units.exact(yards))} yd³."
        raise InputError(title, "The areas cannot take more than the load.", where="map",
                         example="field=3.5, stairs=1")  # fmt: skip
