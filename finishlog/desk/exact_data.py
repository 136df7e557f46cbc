"""Lossless JSON of frozen values, and back, so that advice is saved as given.

A Fraction is the text `7/4`. A field that a kept value lacks takes its default; one that is not known any more
is left out, so that a value kept by another version can be read as long as it says all that is needed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime, time
from fractions import Fraction
from types import UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from finishlog.desk.plain_data import Json, data, scalar
from finishlog.units import RoughDay

T = TypeVar("T")
UNREADABLE = (ValueError, TypeError, KeyError, IndexError, AttributeError, ArithmeticError, RecursionError)
"""What reading JSON that is not ours may raise: a log may come from anywhere. It is as good as none then."""
_SCALARS: dict[Any, tuple[type, ...]] = {str: (str,), int: (int,), float: (int, float), bool: (bool,)}


def kept(value: Any, without: tuple[str, ...] = ()) -> Json:
    """A dataclass as dictionaries, lists and scalars; fields of it may be left out."""
    return {f.name: data(getattr(value, f.name), _exact) for f in fields(value) if f.name not in without}


def _exact(value: Any) -> Any:
    if isinstance(value, Fraction):
        return f"{value.numerator}/{value.denominator}"
    return f"{value.isoformat()} {value.exactness}" if isinstance(value, RoughDay) else scalar(value)


def again(kind: type[T], told: Mapping[str, Any], **given: Any) -> T:
    """The value of a dataclass as it was; `given` are fields that were left out. Raises one of UNREADABLE."""
    hints = get_type_hints(kind)
    values = dict(given)
    for field in fields(kind):  # type: ignore[arg-type]
        if field.name in given:
            continue
        if field.name in told:
            values[field.name] = _value(hints[field.name], told[field.name])
        elif field.default is MISSING and field.default_factory is MISSING:
            raise ValueError(f"{kind.__name__} was kept without {field.name}")
    return kind(**values)


def _value(kind: Any, told: Any) -> Any:
    if told is None:
        return None
    origin = get_origin(kind)
    if origin in (Union, UnionType):
        return _one_of([each for each in get_args(kind) if each is not type(None)], told)
    if origin is tuple:
        return _tuple(get_args(kind), told)
    if origin is Literal or kind is Any:
        return told
    if origin is not None:  # a mapping of plain facts
        return {key: _value(get_args(kind)[1], each) for key, each in told.items()}
    return _plain(kind, told)


def _plain(kind: Any, told: Any) -> Any:
    if is_dataclass(kind):
        return again(kind, told)  # type: ignore[arg-type]
    if kind is Fraction:
        return Fraction(told)
    if kind is date and " " in str(told):
        day, exactness = str(told).split()
        middle = date.fromisoformat(day)
        return RoughDay.of(middle.year, middle.month, "month" if exactness == "month" else "season")
    if kind in _SCALARS and not isinstance(told, _SCALARS[kind]):
        raise TypeError(f"kept as a {type(told).__name__}")
    return kind.fromisoformat(told) if kind in (date, datetime, time) else told


def _one_of(kinds: list[Any], told: Any) -> Any:
    """Of several kinds the one that the text can be: a Fraction before a plain text."""
    if len(kinds) == 1:
        return _value(kinds[0], told)
    return Fraction(told) if Fraction in kinds and isinstance(told, str) else told


def _tuple(kinds: tuple[Any, ...], told: Any) -> tuple[Any, ...]:
    if len(kinds) == 2 and kinds[1] is ...:
        return tuple(_value(kinds[0], each) for each in told)
    return tuple(_value(kind, each) for kind, each in zip(kinds, told, strict=True))
