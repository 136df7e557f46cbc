"""What a log knows of itself; `finishlog.store.sealing` writes and reads it.

No export has these: a log made from one has an identity and a chain of its own.
"""

from __future__ import annotations

from sqlalchemy import ForeignKey, Integer, Text

from finishlog.store.schema.base import Base, must, rules, within


class LogStateRow(Base):
    """One row: the log's identity, how often it was written, its entries; `proof` is a hash over all that."""

    __tablename__ = "log_state"
    id = must(Integer, primary_key=True)
    uid = must(Text)
    writes = must(Integer)
    entries = must(Integer)
    proof = must(Text)
    __table_args__ = rules(within("id", 1, 1))


class ChainRow(Base):
    """The hash of an entry, chained to the one before. Append-only."""

    __tablename__ = "chain"
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    hash = must(Text)
    __table_args__ = rules()


class SealRow(Base):
    """The hash of any other row, by the number of its table (`sealing.form`)."""

    __tablename__ = "seal"
    what = must(Integer, primary_key=True)
    row_id = must(Integer, primary_key=True)
    hash = must(Text)
    __table_args__ = rules()


class UnsealedRow(Base):
    """A row written since its hash was; triggers put it here, and no unit of work ends with one."""

    __tablename__ = "unsealed"
    id = must(Integer, primary_key=True)
    what = must(Integer)
    row_id = must(Integer)
    __table_args__ = rules()


MARKED = {
    **{
        table: (number, "{row}.id")
        for number, table in enumerate(
            (
                *("person", "plant", "maker", "customer", "site", "ownership", "buried", "product", "lot"),
                *("mix", "job", "recipe", "area", "advice", "stock_move"),
            ),
            1,
        )
    },
    "stage": (12, "{row}.recipe_id"),
    "stage_material": (12, "(SELECT recipe_id FROM stage WHERE id = {row}.stage_id)"),
    "shape": (13, "{row}.area_id"),
    "setting": (16, "0"),
    "draft": (17, "0"),
}
"""By table: the number and row id under which a changed row is unsealed; `{row}` is the row written."""
DELETABLE = ("stage", "stage_material", "shape", "setting", "draft")
"""Tables whose rows may go; nothing else is ever deleted."""
