"""How statements that SQLAlchemy builds for SQLite are said on PostgreSQL, where it does not know itself."""

from __future__ import annotations

from typing import Any

from sqlalchemy import BindParameter
from sqlalchemy.dialects.postgresql.psycopg import PGCompiler_psycopg


def refusing(said: str) -> str:
    """The statement of a trigger that refuses what its user has no right to."""
    return f"RAISE EXCEPTION '{said}' USING ERRCODE = 'insufficient_privilege';"


class Compiler(PGCompiler_psycopg):
    """Flags are whole numbers."""

    def visit_is__binary(self, binary: Any, _operator: Any, **options: Any) -> str:
        """`IS 0` is said of nothing but null and truth there."""
        word = "=" if isinstance(binary.right, BindParameter) else "IS"
        return f"{self.process(binary.left, **options)} {word} {self.process(binary.right, **options)}"
