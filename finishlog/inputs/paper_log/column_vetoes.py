"""Vetoes: columns that a header cannot be, however similar its name or numbers."""

from __future__ import annotations

import re
from collections.abc import Sequence

from finishlog.inputs.paper_log import cells as paper_cells
from finishlog.inputs.paper_log import column_names
from finishlog.units import number_from

_BAGS = re.compile(r"\b(?:bags?|sacks?|sks?|packs?|packets?|pkgs?|pails?|buckets?)\b")
_OF_A_BAG = re.compile(
    r"(?:#|\b(?:lbs?\.?|pounds?|oz|gal|gals|gallons)) *(?:/|per\b|a\b|each\b|in\b)", re.IGNORECASE
)
"""An amount for each bag, `lb/sack`: a dose, or the water of an overlay."""
_OVERLAY = re.compile(r"\b(?:overlay|topping|repair)\b")
_NAMES_A_BAG = re.compile(r"\b(?:lot|batch|product|brand|maker|mix|notes?)\b")
_LOW = re.compile(r"\b(?:lows?|lo|lowest|min|minimum|coldest|coolest|nights?|overnight)\b")
_HIGH = re.compile(r"\b(?:highs?|hi|highest|max|maximum|hottest|warmest)\b")
_NOT_AIR = re.compile(r"\b(?:concrete|mix|slab|surface|ground|load|truck)\b")
_TEMPERATURE = re.compile(r"\b(?:temps?|temperatures?|degrees?|deg|f|c|weather)\b|°", re.IGNORECASE)
_WASHER = re.compile(r"\b(?:power|pressure|pw|tip|nozzle)\b|wash|rins")
_STRENGTH = re.compile(r"\b(?:concrete|mix|strength|design|break|breaks|test|days?|order|ordered|spec)\b")
_OF_THE_PLANT = re.compile(
    r"\b(?:plant|supplier|producer|mix|ready ?mix|tickets?|tkt|tix|slip|truck|slump|batch|cement|air)\b"
)
WEAKEST_PSI = 2500
"""Weakest concrete ordered for flatwork, in psi; common practice, no source."""


def is_not(key: str, header: str, cells: Sequence[str], beside: Sequence[str]) -> bool:
    """Whether a sheet's column is certainly not, or only perhaps, ours of this key; `beside`: all headers."""
    name = column_names.plain(header)
    if key in ("air_low", "air_high"):
        ours, other = (_LOW, _HIGH) if key == "air_low" else (_HIGH, _LOW)
        return not ours.search(name) or bool(other.search(name) or _NOT_AIR.search(name))
    if key == "air":
        return _TEMPERATURE.search(header.replace("_", " ")) is not None
    if key == "rinse_psi":
        return _STRENGTH.search(name) is not None or not (_WASHER.search(name) or _washes(cells, beside))
    return _is_count_of_bags(key, header, cells)


def _is_count_of_bags(key: str, header: str, cells: Sequence[str]) -> bool:
    """Whether bags are counted under it: `Bags color`, `Sacks`, `50 lb bags`; not `Color lb/sack`, `Bag lot`."""
    name = column_names.plain(header)
    if not _BAGS.search(name):
        return False
    if paper_cells.is_free(key):
        return not _NAMES_A_BAG.search(name) and any(cell[:1].isdigit() for cell in cells)
    if key == "bags":
        return not _OVERLAY.search(name)
    return key not in ("dose", "dose_2", "bag_water") or not _OF_A_BAG.search(header)


def _washes(cells: Sequence[str], beside: Sequence[str]) -> bool:
    """Whether an unlabeled pressure is the washer's, judged by its neighbors and magnitude.

    Next to a plant column it may be the concrete's strength.
    """
    names = [column_names.plain(header) for header in beside]
    if not any(_WASHER.search(name) for name in names):
        return False
    numbers = [number_from(cell.casefold().replace(",", "").removesuffix("psi").strip()) for cell in cells]
    low = all(number is not None and number < WEAKEST_PSI for number in numbers)
    return low or not any(_OF_THE_PLANT.search(name) for name in names)
