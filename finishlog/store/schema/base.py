"""The base of all tables: naming of constraints, and the few columns many share."""

from __future__ import annotations

from typing import Any, ClassVar, TypeVar

from sqlalchemy import CheckConstraint, Column, ColumnClause, Integer, MetaData, Table, Text
from sqlalchemy.sql.schema import SchemaItem
from sqlalchemy.types import TypeEngine

T = TypeVar("T")
Kind = TypeEngine[T] | type[TypeEngine[T]]

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}

MOST = 1e9
"""No real quantity comes near it; anything above (including infinity) is a typo."""


class Base:
    """A table as a class of its columns: `JobRow.handle` is the column, `JobRow.__table__` the table.

    SQLAlchemy's core alone: nothing here is an object of the ORM, which would have to be loaded, and each class
    mapped, before a command reads its first row. Every constraint gets a name, so that a migration can drop it.
    """

    metadata: ClassVar[MetaData] = MetaData(naming_convention=NAMING)
    __table__: ClassVar[Table]
    __tablename__: ClassVar[str]
    __table_args__: ClassVar[tuple[SchemaItem, ...]]

    def __init_subclass__(cls) -> None:
        columns = {name: value for name, value in vars(cls).items() if isinstance(value, Column)}
        for name, column in columns.items():
            column.name = column.key = name
        cls.__table__ = Table(cls.__tablename__, Base.metadata, *columns.values(), *cls.__table_args__)

    @classmethod
    def __clause_element__(cls) -> Table:
        """What SQLAlchemy takes the class for in a statement."""
        return cls.__table__


def must(kind: Kind[T], *further: SchemaItem, **options: Any) -> ColumnClause[T]:
    """A column that has a value in every row."""
    return Column(kind, *further, nullable=False, **options)


def may(kind: Kind[T], *further: SchemaItem, **options: Any) -> ColumnClause[T | None]:
    """A column whose value may be unknown."""
    return Column(kind, *further, **options)


def identified() -> tuple[ColumnClause[int], ColumnClause[str]]:
    """`id` and `uid`; the second identifies the row outside this log, in every export, and never changes."""
    return must(Integer, primary_key=True), must(Text, unique=True)


def editable() -> tuple[ColumnClause[int], ColumnClause[str], ColumnClause[int]]:
    """`id`, `uid` and `version`, which counts edits, to detect two people editing one row."""
    return *identified(), must(Integer, server_default="1")


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
