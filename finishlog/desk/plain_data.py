"""Frozen values as plain data for other programs: dictionaries, lists, scalars; numbers as numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, time
from fractions import Fraction
from typing import Any


def number(value: Fraction | float | None, places: int = 4) -> float | int | None:
    """A JSON number, rounded; whole numbers as whole numbers; None as null."""
    if value is None:
        return None
    rounded = round(float(value), places)
    return int(rounded) if rounded == int(rounded) else rounded


def data(value: Any) -> Any:
    """Any frozen value as dictionaries, lists and scalars; days and instants in ISO 8601."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: data(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Fraction):
        return number(value)
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(k): data(v) for k, v in value.items()}
    return [data(v) for v in value] if isinstance(value, tuple | list) else value
