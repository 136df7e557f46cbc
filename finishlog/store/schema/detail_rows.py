"""Column-to-field mapping of entry details, declared once for writing and reading."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select

from finishlog.records.log import Approval, Claim, Coat, Load, Reading, Sample
from finishlog.store.schema import typed
from finishlog.store.schema.base import Base
from finishlog.store.schema.rows import IDS, Query, table
from finishlog.store.schema.tables_entry import ApprovalRow, ClaimRow, CoatRow, LoadRow, ReadingRow, SampleRow

Check = Callable[[Any], Any]


@dataclass(frozen=True, slots=True)
class Part:
    """A record, its table, and per field its column and final text check."""

    record: type
    row: type[Base]
    columns: dict[str, tuple[str, Check | None]]

    def values(self, new: Any) -> dict[str, Any]:
        """Values by column. Raises InputError for invalid text."""
        return {
            column: getattr(new, field) if check is None else check(getattr(new, field))
            for field, (column, check) in self.columns.items()
        }

    def query(self, *further: str) -> Query:
        """SELECT of the entry's id, the columns named by their fields, then further columns."""
        held = table(self.row).c
        named = [held[column].label(field) for field, (column, _) in self.columns.items()]
        return select(held.entry_id, *named, *(held[name] for name in further)).where(held.entry_id.in_(IDS))

    def fields(self, row: Any) -> dict[str, Any]:
        """The fields of the record that a row of `query` holds."""
        return {field: row._mapping[field] for field in self.columns}


def _same(*names: str) -> Iterator[tuple[str, tuple[str, None]]]:
    """Fields stored unchanged in columns of the same name."""
    yield from ((name, (name, None)) for name in names)


def _text(name: str, what: str = "", column: str = "") -> tuple[str, tuple[str, Check]]:
    """An optional text; `what` names it in a refusal."""
    return name, (column or name, lambda text: typed.maybe(text, what or name))


def _name(name: str, what: str = "", column: str = "") -> tuple[str, tuple[str, Check]]:
    """A text that there must be."""
    return name, (column or name, lambda text: typed.name(text, what or name))


def _note(name: str) -> tuple[str, tuple[str, Check]]:
    return name, (name, lambda text: typed.note(text, name))


LOAD = Part(Load, LoadRow, dict((
    *_same("yards", "returned_yd3", "dumped_yd3"), _text("ticket"), *_same("water_gal"),
    _text("water_when", "time of the water"), *_same("slump_in", "slump_end_in", "is_balance"),
)))  # fmt: skip
COAT = Part(Coat, CoatRow, dict(_same("number", "reseal", "area_ft2", "slab_f", "air_f", "humidity_percent")))
READING = Part(Reading, ReadingRow, dict((
    ("L", ("lightness", None)), *_same("a", "b"), ("sd_L", ("sd_lightness", None)), *_same("sd_a", "sd_b"),
    _name("spot"), *_same("damp", "sealed"), _name("source"), *_same("photo", "sample"), _text("box"),
    _text("camera"), _text("card", "patches of the card"),
)))  # fmt: skip
COLOR = Part(Reading, ReadingRow, {field: held for field, held in READING.columns.items() if field != "card"})
"""A reading as colors are learned from it: the patches of its card would only be carried along."""
SAMPLE = Part(Sample, SampleRow, dict((
    _text("size"), _text("kept_where", "place of the sample"), *_same("half_sealed"), _text("cement"),
)))  # fmt: skip
APPROVAL = Part(Approval, ApprovalRow, dict((
    *_same("sample"), _name("by", "name that signed", "signed_by"), *_same("approved"),
)))  # fmt: skip
CLAIM = Part(Claim, ClaimRow, dict((
    *(_note(name) for name in ("complaint", "cause", "action", "outcome")), *_same("settled"),
)))  # fmt: skip
