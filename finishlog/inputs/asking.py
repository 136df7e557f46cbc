"""One input field of a form, command or sheet: read from text, echoed while typed, written back.

A blank means unknown and never reaches a reader.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from finishlog import units
from finishlog.errors import InputError, naming
from finishlog.inputs.readers import one_of, read_name, read_note, read_yes
from finishlog.records.shop import Setting
from finishlog.records.shop_texts import Text
from finishlog.trade.stages.base import Param
from finishlog.units import QUANTITIES, exact, plain, write

FACT = "facts"
"""`Field.part` of a kind's own facts; other parts are records of the log."""


@dataclass(frozen=True, slots=True)
class Wrong:
    """An error in one field. `key` is the field's, or "" for the whole."""

    key: str
    what: str
    example: str = ""


def nothing(_value: Any) -> str:
    """The echo of a field that is taken literally."""
    return ""


@dataclass(frozen=True, slots=True)
class Field:
    """One field of an entry, a job or a sheet, for form, command line and import alike.

    `part` is where the value goes (facts, load, mix, material…), `group` the heading under which a form shows
    it. `suggest` names the list of the log that is offered: people, areas, plants, makers, products, lots.
    """

    key: str
    title: str
    example: str
    reader: Callable[[str], Any]
    shows: Callable[[Any], str] = nothing
    texts: Callable[[Any], str] = str
    unit: str = ""
    part: str = FACT
    group: str = ""
    help: str = ""
    choices: tuple[str, ...] = ()
    suggest: str = ""
    required: bool = False
    ask: str = ""
    """Message if required and blank; empty: the default sentence."""

    @property
    def sample(self) -> str:
        """A valid text: the first of the examples."""
        return re.split(r", | or ", self.example, maxsplit=1)[0]

    def read(self, text: str) -> Any:
        """The value; None for a blank. Raises InputError naming the field."""
        if not text.strip():
            return None
        with naming(self.key):
            if not _is_text(text):
                cause = "A NUL or half a character is in it."
                raise InputError("The text has an unreadable character.", cause, example=self.sample)
            return self.reader(text.strip())

    def echo(self, text: str) -> str:
        """The value as understood; empty if identical to the text. Raises InputError."""
        value = self.read(text)
        return "" if value is None else self.shows(value)

    def text(self, value: Any) -> str:
        """The text that reads as this value; blank for None."""
        return "" if value is None else self.texts(value)


def _is_text(text: str) -> bool:
    return "\0" not in text and not any("\ud800" <= mark <= "\udfff" for mark in text)


def quantity(key: str, title: str, what: str, *, part: str, group: str = "", positive: bool = True,
             units_shown: str = "us", low: Fraction | None = None, high: Fraction | None = None,
             help: str = "") -> Field:  # fmt: skip
    """A number with a unit: `what` is a key of `units.QUANTITIES`. Its value is a Fraction in the base unit."""
    asked = QUANTITIES[what]

    def read(text: str) -> Fraction:
        value = units.read(what, text, positive=positive, high=high)
        if low is not None and value < low:
            raise InputError(f"“{units.shown(text)}” is less than {plain(low)} {asked.us[1]}.",
                             example=asked.example)  # fmt: skip
        return value

    return Field(
        key, title, asked.example, read, lambda value: write(what, value, units_shown),
        lambda value: as_typed(what, value), asked.us[1], part, group, help,
    )  # fmt: skip


def as_typed(what: str, value: float | Fraction) -> str:
    """A quantity as lossless text: `6.75 yd³`, not rounded for display."""
    label = QUANTITIES[what].us[1]
    number = plain(exact(value), 17)
    return f"${number}" if label == "$" else f"{number} {label}"


def name(key: str, title: str, example: str, *, part: str, group: str = "", suggest: str = "",
         help: str = "", required: bool = False) -> Field:  # fmt: skip
    """A name, a place, a lot: kept as typed."""
    return Field(key, title, example, read_name, part=part, group=group, suggest=suggest, help=help,
                 required=required)  # fmt: skip


def column(key: str, title: str, help: str, example: str, group: str = "",
           reader: Callable[[str], Any] = read_name) -> Field:  # fmt: skip
    """A column of a sheet."""
    return Field(key, title, example, reader, help=help, group=group)


def note(key: str, title: str, example: str, *, part: str, group: str = "", required: bool = False) -> Field:
    """A longer text, kept as typed."""
    return Field(key, title, example, read_note, part=part, group=group, required=required)


def choice(key: str, title: str, choices: tuple[str, ...], *, part: str, group: str = "",
           help: str = "") -> Field:  # fmt: skip
    """One of a few words."""
    return Field(key, title, choices[0], one_of(*choices), part=part, group=group, help=help, choices=choices)


def yes_no(key: str, title: str, *, part: str, group: str = "", help: str = "") -> Field:
    """Yes or no; blank is unknown."""
    return Field(key, title, "yes", read_yes, texts=_said, part=part, group=group, help=help,
                 choices=("yes", "no"))  # fmt: skip


def count(key: str, title: str, example: str, *, part: str, group: str = "", high: int = 10000) -> Field:
    """A whole number above 0."""
    return Field(key, title, example, lambda text: units.read_count(text, high=high), part=part, group=group)


def fact(param: Param, group: str = "", units_shown: str = "us") -> Field:
    """A scalar that a kind of entry declares."""
    return Field(
        key=param.name,
        title=param.title,
        example=param.example(),
        reader=param.read,
        shows=lambda value: _echo(param, value, units_shown),
        texts=lambda value: _fact_text(param, value),
        unit=QUANTITIES[param.unit].us[1] if param.unit else "",
        group=group,
        help=param.help,
        choices=tuple(choice.replace("_", " ") for choice in param.choices) or _YES_NO.get(param.kind, ()),
    )


def setting(kept: Setting | Text) -> Field:
    """A setting of the shop, or words of it."""
    if isinstance(kept, Text):
        return Field(kept.key, kept.title, kept.default or kept.help, kept.read, help=kept.help)
    return Field(kept.key, kept.title, kept.said(kept.default), kept.read, kept.said, unit=kept.unit,
                 help=kept.source)  # fmt: skip


_YES_NO = {"yes_no": ("yes", "no")}


def _echo(param: Param, value: Any, units_shown: str) -> str:
    if param.kind == "number" and param.unit:
        return write(param.unit, exact(value), units_shown)
    return str(value).replace("_", " ") if param.kind == "choice" else ""


def _fact_text(param: Param, value: Any) -> str:
    if isinstance(value, bool):
        return _said(value)
    if param.kind == "number" and not isinstance(value, str):
        return as_typed(param.unit, value) if param.unit else plain(exact(value), 17)
    return str(value).replace("_", " ") if param.kind == "choice" else str(value)


def _said(value: bool) -> str:
    return "yes" if value else "no"
