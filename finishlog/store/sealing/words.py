"""Damaged rows in plain words: which entry of which job, which photo. Says what it can of what is left."""

from __future__ import annotations

from typing import Any

from sqlalchemy import text
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.store.sealing import rows
from finishlog.store.sealing.form import Content

STATE_DAMAGED = "What the log says of itself (its identity, how many entries it has) is damaged."
WHOLE = {
    "setting": "The shop's settings are not as they were saved.",
    "draft": "The unfinished forms are not as they were saved.",
}
PARTS = {"list": "list", "photo": "facts of photos", "settings": "settings"}
_NOUNS = {"stock_move": "shelf line", "mix": "mix", "advice": "advice", "ownership": "owner's line"}
_NAMES = {
    "job": "name || ' (' || handle || ')'",
    "site": "street",
    "lot": "code",
    "mix": "number",
    "buried": "what",
    "stock_move": "what || ' of ' || substr(happened, 1, 10)",
    "ownership": "since",
    "advice": "kind",
}
"""What a row of a table is called by, where it has no name."""
_FAILS = (DBAPIError, UnicodeDecodeError)


def entry(connection: Connection, number: int) -> str:
    """An entry by its number, kind, day and job, with its photos and files."""
    row = _one(
        connection,
        "SELECT e.number, e.kind, substr(e.happened, 1, 10), j.name, j.handle FROM entry AS e "
        f"LEFT JOIN job AS j ON j.id = e.job_id WHERE e.id = {number}",
    )
    if row is None:
        return _lost(connection, number)
    said = f"Entry {row[0]} of {_text(row[3])} ({_text(row[4])}), {_kind(row[1])} on {_text(row[2])},"
    files = files_of(connection, number)
    return f"{said} with {files}," if files else said


def of_content(connection: Connection, content: Content) -> str:
    """The same of an entry just hashed, by its content."""
    found = rows.read(connection, "SELECT name, handle FROM job WHERE id = :job", job=content[2])
    job, handle = found[0] if found else ("", "")
    said = f"Entry {content[3]} of {_text(job)} ({_text(handle)}), {_kind(content[5])} on {_text(content[6])[:10]},"
    files = [
        _text(row[2])
        for part in content
        if isinstance(part, list) and part[0] == "entry_file"
        for row in part[1]
    ]
    more = " and more" if len(files) > 3 else ""
    return f"{said} with {', '.join(files[:3])}{more}," if files else said


def _kind(kind: Any) -> str:
    return _text(kind).replace("_", " ")


def _lost(connection: Connection, number: int) -> str:
    """An entry that cannot be read or is gone: by its job alone, or by what was logged before it."""
    row = _one(
        connection,
        f"SELECT j.name, j.handle FROM entry AS e JOIN job AS j ON j.id = e.job_id WHERE e.id = {number}",
    )
    if row is not None:
        return f"An entry of {_text(row[0])} ({_text(row[1])})"
    before = _one(
        connection,
        "SELECT e.number, j.name, j.handle FROM entry AS e JOIN job AS j ON j.id = e.job_id "
        f"WHERE e.id = (SELECT max(id) FROM entry WHERE id < {number})",
    )
    if before is None:
        return f"Entry no. {number} of the whole log"
    said = f"logged next after entry {before[0]} of {_text(before[1])} ({_text(before[2])})"
    files = files_of(connection, number)
    return f"An entry with {files}, {said}," if files else f"An entry {said},"


def files_of(connection: Connection, number: int) -> str:
    """The names of the files of an entry."""
    found = []
    for place in range(1, 5):
        row = _one(
            connection,
            f"SELECT name FROM entry_file WHERE entry_id = {number} ORDER BY position LIMIT 1 OFFSET {place - 1}",
        )
        if row is None:
            break
        found.append(_text(row[0]))
    return ", ".join(found[:3]) + (" and more" if len(found) > 3 else "")


def hash_damaged(connection: Connection, number: int) -> str:
    """An entry whose hash alone is damaged."""
    return f"{entry(connection, number)} is whole; only the hash that is kept of it is damaged."


def row(connection: Connection, table: str, number: int) -> str:
    """A row of another table by its name."""
    noun = _NOUNS.get(table, table)
    if table in ("area", "advice"):
        found = _one(
            connection,
            f"SELECT {'t.name' if table == 'area' else 't.kind'}, j.name, j.handle FROM {table} AS t "
            f"LEFT JOIN job AS j ON j.id = t.job_id WHERE t.id = {number}",
        )
        if found is not None:
            return f"The {noun} {_text(found[0])} of {_text(found[1])} ({_text(found[2])})"
    column = _NAMES.get(table, "name")
    found = _one(connection, f"SELECT {column} FROM {table} WHERE id = {number}")
    return f"The {noun} {_text(found[0])}" if found and found[0] else f"A {noun} (row {number})"


def photo(connection: Connection, content: Content) -> str:
    """A photo by its name and entry."""
    found = _one(
        connection,
        f"SELECT entry_id FROM entry_file WHERE sha256 = '{_hex(content[0])}' ORDER BY entry_id LIMIT 1",
    )
    return f"What is known of the photo {_hex(content[0])[:12]}…" + (
        f" of {entry(connection, found[0]).rstrip(',')}" if found else ""
    )


def of_file(connection: Connection, sha256: str) -> str:
    """The entry that first named a file, as words in brackets; "" if none can be read."""
    found = _one(
        connection,
        "SELECT n.name, e.number, j.name, j.handle FROM entry_file AS n JOIN entry AS e ON e.id = n.entry_id "
        f"JOIN job AS j ON j.id = e.job_id WHERE n.sha256 = '{_hex(sha256)}' ORDER BY e.id LIMIT 1",
    )
    return "" if found is None else f" ({_text(found[0])}, entry {found[1]} of {_text(found[2])})"


def _hex(text: Any) -> str:
    return "".join(mark for mark in str(text) if mark in "0123456789abcdef")


def _one(connection: Connection, query: str) -> Any:
    try:
        return connection.execute(text(query)).first()
    except _FAILS:
        return None


def _text(value: Any) -> str:
    """A value as words: whatever the damage made of it."""
    text = value.decode("utf-8", "replace") if isinstance(value, bytes) else str(value)
    return text if len(text) <= 60 else f"{text[:59]}…"
