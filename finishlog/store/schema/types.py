"""Column types, the same in every engine: sortable text, numbers, flags.

Everything is an integer, an 8-byte float or text: what the strictest engine (SQLite) supports.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import Double, Integer, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine

from finishlog.records.log import Fact

Real: TypeEngine[float] = Double()
"""An 8-byte float in every engine (`finishlog.store.engine.ddl` has SQLite's name for it)."""


class Flag(TypeDecorator[bool]):
    """True or false, kept as 1 or 0."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> int | None:
        """SQLite has no Boolean: 0 or 1."""
        return None if value is None else int(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> bool | None:
        """NULL stays unknown, not False."""
        return None if value is None else bool(value)


class Day(TypeDecorator[date]):
    """A date, kept as 2025-06-16."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        """ISO text, which sorts by date."""
        return None if value is None else value.isoformat()

    def process_result_value(self, value: Any, dialect: Dialect) -> date | None:
        """ValueError if the text is no ISO day."""
        return None if value is None else date.fromisoformat(value)


class Instant(TypeDecorator[datetime]):
    """An aware datetime, kept in UTC to the microsecond: 2025-06-16T14:30:00.000000Z."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """UTC text of fixed width, which sorts by time."""
        return None if value is None else write_instant(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Always aware, in UTC."""
        return None if value is None else read_instant(value)


class Facts(TypeDecorator[Mapping[str, Fact]]):
    """Scalars by key, kept as one JSON object."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Mapping[str, Fact] | None, dialect: Dialect) -> str | None:
        """Compact JSON; ValueError for NaN or infinity."""
        if value is None:
            return None
        return json.dumps(dict(value), ensure_ascii=False, allow_nan=False, separators=(",", ":"))

    def process_result_value(self, value: Any, dialect: Dialect) -> Mapping[str, Fact] | None:
        """Keys in the order they were written."""
        if value is None:
            return None
        facts: dict[str, Fact] = json.loads(value)
        return facts


def write_instant(value: datetime) -> str:
    """Text that sorts by time. A naive datetime is a bug: ValueError."""
    if value.tzinfo is None:
        raise ValueError("an instant needs its zone")
    return _utc_text(value if value.tzinfo is UTC else value.astimezone(UTC))


@lru_cache(maxsize=4096)
def _utc_text(value: datetime) -> str:
    """What falls due on a slab names an instant five times. Of UTC alone: elsewhere equal times may be two instants."""
    return value.isoformat(timespec="microseconds")[:-6] + "Z"  # strftime takes five times as long


def read_instant(text: str) -> datetime:
    """The instant of `write_instant`, in UTC."""
    return datetime.fromisoformat(text)
