"""The sweep before a rinse and the powder kept, in one field."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from finishlog import units
from finishlog.errors import InputError
from finishlog.inputs.asking import Field

KEY = "swept"
KIND = "rinse"
"""Kind of entry with this question."""
UNKNOWN = "unknown"
MOST_LB = Fraction(5000)
_WORDS = {
    "no": False, "n": False, "not": False, "not swept": False, "none": False,
    "yes": True, "y": True, "swept": True, UNKNOWN: None, "?": None,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Swept:
    """`was` None: unknown. `kept_lb` None: amount kept unknown."""

    was: bool | None
    kept_lb: Fraction | None = None


def read_swept(text: str) -> Swept:
    """`no`, `yes`, `unknown`, or the pounds that were kept clean. Raises InputError."""
    word = " ".join(text.casefold().split())
    if word in _WORDS:
        return Swept(_WORDS[word])
    try:
        return Swept(True, units.read("mass_lb", word.removesuffix(" kept"), positive=False, high=MOST_LB))
    except InputError:
        raise InputError(
            f"“{units.shown(text)}” is not an answer here.",
            "Enter the pounds kept, yes, no or unknown.", where=KEY, example="3 lb",
        ) from None  # fmt: skip


def echo(value: Swept, system: str = "us") -> str:
    """What was understood, as a phrase."""
    if value.was is None:
        return "not known"
    if not value.was:
        return "not swept"
    return "swept" if value.kept_lb is None else f"{units.write('mass_lb', value.kept_lb, system)} kept"


def text_of(value: Swept | bool) -> str:
    """As typed. A correction starts with yes or no: the pounds are in the sweep's own entry."""
    if isinstance(value, Swept) and value.kept_lb is not None:
        return f"{units.plain(value.kept_lb, 17)} lb"
    was = value.was if isinstance(value, Swept) else value
    return UNKNOWN if was is None else "yes" if was else "no"


def of_entry(text: str) -> str:
    """The part of an answer kept in the rinse entry; pounds go in the sweep's own."""
    return text_of(Swept(read_swept(text).was))


def field_of(fact: Field, system: str = "us") -> Field:
    """The field of the fact that a rinse keeps; it takes the pounds too."""
    return replace(
        fact, example="3 lb", reader=read_swept, shows=lambda value: echo(value, system), texts=text_of,
        choices=("no", "yes", UNKNOWN), help="pounds kept, yes or no",
    )  # fmt: skip


def fact_of(value: Any) -> Any:
    """What the entry itself keeps of a value: whether it was swept."""
    return value.was if isinstance(value, Swept) else value
