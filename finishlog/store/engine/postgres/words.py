"""How statements that SQLAlchemy builds for SQLite are said on PostgreSQL, where it does not know itself."""

from __future__ import annotations

from typing import Any

from sqlalchemy import BindParameter, bindparam
from sqlalchemy.dialects.postgresql.psycopg import PGCompiler_psycopg
from sqlalchemy.sql.compiler import OPERATORS
from sqlalchemy.types import NullType

from finishlog.store.schema.rows import IDS


def refusing(said: str) -> str:
    """The statement of a trigger that refuses what its user has no right to."""
    return f"RAISE EXCEPTION '{said}' USING ERRCODE = 'insufficient_privilege';"


class Compiler(PGCompiler_psycopg):
    """Flags are whole numbers; a list of ids is one value, so that the statement is the same of any length.

    A few ids are named (`rows.FEW`): then the server knows how many there are, and plans once for all.
    """

    takes_lists = True

    def visit_is__binary(self, binary: Any, _operator: Any, **options: Any) -> str:
        """`IS 0` is said of nothing but null and truth there."""
        word = "=" if isinstance(binary.right, BindParameter) else "IS"
        return f"{self.process(binary.left, **options)} {word} {self.process(binary.right, **options)}"

    def visit_in_op_binary(self, binary: Any, operator: Any, ids_named: bool = False, **options: Any) -> str:
        """Statements that differ only in how many ids they name would each be planned anew."""
        if not isinstance(binary.right, BindParameter) or binary.right.key != IDS.key:
            return str(self._generate_generic_binary(binary, OPERATORS[operator], **options))
        ids = self.process(bindparam(IDS.key, type_=NullType(), expanding=ids_named), **options)
        return f"{self.process(binary.left, **options)} {f'IN {ids}' if ids_named else f'= ANY ({ids})'}"
