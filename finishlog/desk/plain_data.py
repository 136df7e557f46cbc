"""Frozen values as plain data for other programs: dictionaries, lists, scalars; numbers as numbers."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, time
from fractions import Fraction
from functools import cache, partial
from typing import Any

Json = dict[str, Any]
PLACES = 4
_KEY = re.compile(r"(?:(?P<key>\w+)=)?(?P<path>[\w.]+)(?P<blank>\?)?(?P<share>%)?(?::(?P<places>\d))?")


def number(value: Fraction | float | None, places: int = PLACES) -> float | int | None:
    """A JSON number, rounded; whole numbers as whole numbers; None as null."""
    if value is None:
        return None
    rounded = round(float(value), places)
    return int(rounded) if rounded == int(rounded) else rounded


def scalar(value: Any) -> Any:
    """A Fraction as a number, days and instants in ISO 8601, all else as it is."""
    if isinstance(value, Fraction):
        return number(value)
    return value.isoformat() if isinstance(value, date | time) else value


def data(value: Any, scalar: Callable[[Any], Any] = scalar) -> Any:
    """Any frozen value as dictionaries, lists and what `scalar` makes of the rest."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: data(getattr(value, f.name), scalar) for f in fields(value)}
    if isinstance(value, Mapping):
        return {str(k): data(v, scalar) for k, v in value.items()}
    return [data(v, scalar) for v in value] if isinstance(value, tuple | list) else scalar(value)


def pick(value: object, *keys: str) -> Json:
    """The attributes that `keys` names, in that order: their own names, or what differs from them.

    A key is `name`, `name=path.to.attribute` or `path.to.name`. `:2` rounds to two places instead of four,
    `%` makes percent to a tenth of a share, `?` makes null of what is empty. What lies behind a None is null.
    """
    return {key: read(value) for each in keys for key, read in _readers(each)}


@cache
def _readers(keys: str) -> tuple[tuple[str, Callable[[object], Any]], ...]:
    return tuple(_reader(each) for each in keys.split())


def _reader(text: str) -> tuple[str, Callable[[object], Any]]:
    found = _KEY.fullmatch(text)
    assert found is not None, f"{text!r} names no key"
    path = found["path"].split(".")
    places = int(found["places"] or (1 if found["share"] else PLACES))
    factor = 100 if found["share"] else 1
    return found["key"] or path[-1], partial(_read, path, places, factor, found["blank"] is not None)


def _read(path: list[str], places: int, factor: int, blank: bool, value: Any) -> Any:
    for name in path:
        value = None if value is None else getattr(value, name)
    return None if blank and not value else data(value, partial(_rounded, places, factor))


def _rounded(places: int, factor: int, value: Any) -> Any:
    return number(value * factor, places) if isinstance(value, float | Fraction) else scalar(value)


def footing(answer: Any) -> Json:
    """What an answer ends with: its cautions as texts, and its sources."""
    return {"cautions": [caution.text for caution in answer.cautions], "sources": list(answer.sources)}
