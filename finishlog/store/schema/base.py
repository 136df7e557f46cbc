"""The base of all tables: naming of constraints, and the few columns many share."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from sqlalchemy import CheckConstraint, Integer, MetaData, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}

Id = Annotated[int, mapped_column(Integer, primary_key=True)]
MOST = 1e9
"""No real quantity comes near it; anything above (including infinity) is a typo."""


class Base(DeclarativeBase):
    """Gives every constraint a name, so that a migration can drop it."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map: ClassVar[dict[Any, Any]] = {str: Text}


class Identified:
    """`uid` identifies the row outside this log, in every export, and never changes."""

    id: Mapped[int] = mapped_column(Integer, primary_key=True, sort_order=-3)
    uid: Mapped[str] = mapped_column(Text, unique=True, sort_order=-2)


class Editable(Identified):
    """`version` counts edits, to detect two people editing one row."""

    version: Mapped[int] = mapped_column(Integer, server_default="1", sort_order=-1)


def rules(*constraints: Any) -> tuple[Any, ...]:
    """Table arguments: the constraints and indexes of a table."""
    return constraints


def within(column: str, low: float = 0, high: float = MOST) -> CheckConstraint:
    """CHECK that a number, where known, is between both."""
    return CheckConstraint(f"{column} BETWEEN {low:.10g} AND {high:.10g}", name=f"{column}_within")


def one_of(column: str, *words: str) -> CheckConstraint:
    """CHECK that a text is one of these words."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


def flag(column: str) -> CheckConstraint:
    """CHECK that a flag is 0 or 1."""
    return CheckConstraint(f"{column} IN (0, 1)", name=f"{column}_flag")


def filled(column: str) -> CheckConstraint:
    """CHECK that a text is not empty: "unknown" is NULL, never ''."""
    return CheckConstraint(f"{column} <> ''", name=f"{column}_filled")


def an_object(column: str) -> CheckConstraint:
    """CHECK that a text looks like a JSON object."""
    return CheckConstraint(f"{column} LIKE '{{%}}'", name=f"{column}_object")
