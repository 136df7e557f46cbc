"""What only one database engine knows stands in `engine`, its full text and reading order in `search`; else nowhere."""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest

import finishlog.store
from finishlog.store.engine.in_sqlite import Sqlite
from finishlog.store.engine.protocol import Engine

STORE = Path(finishlog.store.__file__).parent
AT_HOME = ("engine", "search")
NAMES = re.compile(
    r"exec_driver_sql|driver_connection|lastrowid|total_changes|sqlite3|sqlite|\w*sqlite_\w*|savepoint", re.I
)
"""As names in the code."""
WORDS = re.compile(
    r"\b(?:PRAGMA|rowid|fts5\w*|bm25|MATCH|GLOB|SAVEPOINT|RAISE|STRICT|sqlite\w*)\b|[=<>,(] ?\?(?=[,)\s\"']|$)"
)
"""In texts that are no docstring: statements and options."""


def words_of_an_engine(source: str) -> Iterator[str]:
    """The names and the words in statements that only one engine has; comments and docstrings are prose."""
    prose = {
        (node.lineno, node.col_offset)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type == tokenize.NAME and NAMES.fullmatch(token.string):
            yield token.string
        if token.type == tokenize.STRING and token.start not in prose:
            yield from WORDS.findall(token.string)


@pytest.mark.parametrize(
    "path", sorted(STORE.rglob("*.py")), ids=lambda path: path.relative_to(STORE).as_posix()
)
def test_no_engine_is_named_outside_its_room(path: Path) -> None:
    found = list(words_of_an_engine(path.read_text("utf-8")))
    if path.relative_to(STORE).parts[0] not in AT_HOME:
        assert found == []


@pytest.mark.parametrize(
    ("source", "word"),
    [
        ('run("PRAGMA foreign_keys=ON")', "PRAGMA"),
        ('run("SELECT id FROM job WHERE handle = ?", ("x",))', "= ?"),
        ('run(f"VALUES ({a}, ?, ?)")', ", ?"),
        ('run("SELECT rowid FROM due")', "rowid"),
        ('table({"sqlite_strict": True})', "sqlite_strict"),
        ("import sqlite3", "sqlite3"),
        ("connection.exec_driver_sql(text)", "exec_driver_sql"),
        ("done.lastrowid", "lastrowid"),
        ('run("SAVEPOINT one")', "SAVEPOINT"),
    ],
)
def test_each_word_is_seen(source: str, word: str) -> None:
    assert word in list(words_of_an_engine(source))


def test_prose_is_free() -> None:
    assert list(words_of_an_engine('"""SQLite has a rowid."""\nx = 1  # PRAGMA\n"""Not = ?"""\n')) == []


def test_sqlite_keeps_every_promise() -> None:
    """A method it only inherits from the Protocol would do nothing, without a word."""
    promised = {name for name in vars(Engine) if not name.startswith("_")}
    assert len(promised) > 15
    assert promised <= set(vars(Sqlite))
    assert all(vars(Engine)[name].__doc__ for name in promised)
