"""How a field is asked for wherever a form is shown: its hint, its group, what comes later."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from finishlog.inputs.asking import Field

DOWN = "Down shows choices"
_LIKE = {
    "rain_in": "0.4 in", "humidity_percent": "60 %", "air_percent": "6 %", "solids_percent": "25 %",
    "first_cast_percent": "60 %", "reclaimed_percent": "20 %", "thickness_in": "1/2 in", "from_h": "0 h",
    "to_h": "72 h", "rain_began_h": "30 h", "low_f": "55 F", "high_f": "81 F", "slump_in": "4 1/2 in",
    "slump_end_in": "4 1/2 in", "dwell_h": "4 h", "edge_minutes": "40", "drum_turns_after_color": "70",
    "spacing_ft": "10 ft", "film_mil": "4 mil", "price_added": "$450", "reclaimed_lb": "6 lb",
    "scm_lb_per_yd3": "84 lb/yd3", "days": "7", "pattern": "ashlar slate", "mat_set": "set B",
    "mats": "5", "bags": "12", "sections": "the gate first, then the steps", "passes": "3",
}  # fmt: skip
"""Hints for facts that a quantity's general example does not suit."""


def groups(fields: Sequence[Field]) -> list[str]:
    """The groups in order; one stray field amid another group starts none."""
    found = [field.group for field in fields]
    for at in range(1, len(found) - 1):
        if found[at - 1] == found[at + 1]:
            found[at] = found[at - 1]
    return found


def further(fields: Sequence[Field], values: Mapping[str, str]) -> tuple[list[Field], list[Field]]:
    """The fields asked first; second and third materials only if they hold something."""
    filled = {field.group for field in fields if values.get(field.key)}
    later = [field for field in fields if _is_further(field) and field.group not in filled]
    return [field for field in fields if field not in later], later


def _is_further(field: Field) -> bool:
    return field.part == "material" and field.key[-2:] in ("_2", "_3")


def hint(field: Field) -> str:
    """What stands in a blank field."""
    words = ", ".join(field.choices)
    if words and len(words) <= 30:
        return words
    if field.help:
        return field.help
    return DOWN if words else sample(field)


def sample(field: Field) -> str:
    """`like 60 %`."""
    like = _LIKE.get(field.key)
    if like is None:
        like = field.sample if field.unit else field.example
        like += " %" if field.unit == "%" else ""
    return "in your own words" if like == "in their own words" else f"like {like}"
