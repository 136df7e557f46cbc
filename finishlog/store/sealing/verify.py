"""Reads the whole log and holds it against its hashes: what is altered, gone or unreadable, in words.

A range that cannot be read is halved until what is damaged stands alone, so one bad row hides no other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.store.sealing import form, rows, words
from finishlog.store.sealing.form import Content
from finishlog.store.search import shelved, stored

AT_ONCE = 2000
_READING_FAILS = (DBAPIError, UnicodeDecodeError, ValueError, TypeError)
Read = Callable[[int, int], Iterator[tuple[int, Content]]]
Step = Callable[[str, int], None]
"""Called with a part's name and the last id verified, so that a check can show it and go on from there."""


@dataclass(slots=True)
class Verified:
    """What was found; `jobs` and `lots` are those of which what is kept is not as it was written."""

    problems: list[str] = field(default_factory=list)
    jobs: set[int] = field(default_factory=set)
    lots: set[int] = field(default_factory=set)


def verify(connection: Connection, found: Verified, done: dict[str, int], step: Step) -> None:
    """Verify all parts, each from where `done` says that an earlier check came to."""
    parts: list[tuple[str, Callable[[int], None]]] = [
        ("entries", lambda after: _Chain(connection, found, after).verify(step))
    ]
    for table, (number, _) in form.PLAIN.items():
        parts.append((table, _rows_of(connection, found, table, number, step)))
    parts += [
        ("photo", lambda _: _photos(connection, found)),
        ("settings", lambda _: _whole(connection, found)),
    ]
    parts += [("list", _lists(connection, found, step)), ("shelf", _shelf(connection, found, step))]
    for name, look in parts:
        try:
            look(done.get(name, 0))
        except _READING_FAILS:
            found.problems.append(
                f"The {words.PARTS.get(name, name)} cannot be read: a page of the log is damaged."
            )
        step(name, 2**62)


def _readable(read: Read, first: int, last: int, bad: list[int]) -> dict[int, Content]:
    """What a range holds; ids of what cannot be read go to `bad`."""
    try:
        return dict(read(first, last))
    except _READING_FAILS:
        if first >= last:
            bad.append(first)
            return {}
        middle = (first + last) // 2
        return _readable(read, first, middle, bad) | _readable(read, middle + 1, last, bad)


def _portions(
    connection: Connection, table: str, column: str, where: str, after: int
) -> Iterator[dict[int, str]]:
    while True:
        query = f"SELECT {column}, hash FROM {table} WHERE {where}{column} > {after} ORDER BY {column} LIMIT {AT_ONCE}"
        held = {row[0]: row[1] for row in rows.read(connection, query)}
        if not held:
            return
        after = max(held)
        yield held


class _Chain:
    """The entries against their chain. A damaged hash is told apart from a damaged entry by the hash after it."""

    def __init__(self, connection: Connection, found: Verified, after: int) -> None:
        self._connection = connection
        self._found = found
        self._after = after
        self._wrong: tuple[int, str] | None = None
        """An entry that does not fit its hash, and the hash that it should have."""

    def verify(self, step: Step) -> None:
        query = "SELECT hash FROM chain WHERE entry_id <= :after ORDER BY entry_id DESC LIMIT 1"
        before = str(rows.one(self._connection, query, after=self._after) or "")
        for held in _portions(self._connection, "chain", "entry_id", "", self._after):
            before = self._portion(held, before)
            if self._wrong is None:
                step("entries", max(held))
        self._end(before)
        chained = "SELECT id FROM entry WHERE id NOT IN (SELECT entry_id FROM chain) ORDER BY id LIMIT 20"
        for row in rows.read(self._connection, chained):
            self._say(row[0], "has no hash: it is not as the program wrote it")

    def _portion(self, held: dict[int, str], before: str) -> str:
        bad: list[int] = []

        def read(first: int, last: int) -> Iterator[tuple[int, Content]]:
            return rows.entries(self._connection, first, last)

        contents = _readable(read, min(held), max(held), bad)
        for entry, kept in held.items():
            content = contents.get(entry)
            if content is None:
                self._settle()
                self._say(entry, "cannot be read" if entry in bad else "is gone")
            elif (made := form.digest(before, content)) != kept:
                self._differs(entry, content, kept, made)
            else:
                self._settle()
            before = kept
        return before

    def _differs(self, entry: int, content: Content, kept: str, made: str) -> None:
        wrong = self._wrong
        if wrong is not None and form.digest(wrong[1], content) == kept:
            self._wrong = None  # this entry follows what the one before should have had
            self._found.problems.append(words.hash_damaged(self._connection, wrong[0]))
            return
        self._settle()
        self._wrong = (entry, made)

    def _settle(self) -> None:
        if self._wrong is not None:
            self._say(self._wrong[0], "is not as it was logged")
            self._wrong = None

    def _end(self, head: str) -> None:
        found = rows.read(self._connection, "SELECT uid, writes, entries, proof FROM log_state")
        uid, writes, entries, proof = found[0] if found else ("", 0, 0, "")
        wrong = self._wrong
        chained = rows.one(self._connection, "SELECT count(*) FROM chain")
        if wrong is not None and form.state(uid, writes, entries, wrong[1]) == proof:
            self._wrong = None
            self._found.problems.append(words.hash_damaged(self._connection, wrong[0]))
        elif form.state(uid, writes, entries, head) != proof or entries != chained:
            self._settle()
            self._found.problems.append(words.STATE_DAMAGED)
        self._settle()

    def _say(self, entry: int, what: str) -> None:
        self._found.problems.append(f"{words.entry(self._connection, entry)} {what}.")


def _rows_of(
    connection: Connection, found: Verified, table: str, number: int, step: Step
) -> Callable[[int], None]:
    def look(after: int) -> None:
        open_rows = _unsealed(connection, number)

        def read(first: int, last: int) -> Iterator[tuple[int, Content]]:
            return rows.plain(connection, table, first, last)

        for held in _portions(connection, "seal", "row_id", f"what = {number} AND ", after):
            for row, what in _differing(read, held):
                if row not in open_rows:
                    found.problems.append(f"{words.row(connection, table, row)} {what}.")
            step(table, max(held))
        sealed = f"SELECT row_id FROM seal WHERE what = {number}"
        query = f"SELECT id FROM {table} WHERE id NOT IN ({sealed}) ORDER BY id LIMIT 20"
        for (without,) in rows.read(connection, query):
            if without not in open_rows:
                found.problems.append(f"{words.row(connection, table, without)} has no hash.")

    return look


def _differing(read: Read, held: dict[int, str]) -> Iterator[tuple[int, str]]:
    """Rows that do not fit their hashes, and what is wrong with each."""
    bad: list[int] = []
    contents = _readable(read, min(held), max(held), bad)
    for row, kept in held.items():
        content = contents.get(row)
        if content is None:
            yield row, "cannot be read" if row in bad else "is gone"
        elif form.digest("", content) != kept:
            yield row, "is not as it was saved"


def _unsealed(connection: Connection, number: int) -> set[int]:
    query = f"SELECT row_id FROM unsealed WHERE what = {number}"
    return {row[0] for row in rows.read(connection, query)}


def changed_elsewhere(connection: Connection) -> int:
    """Rows that another program than this one wrote: they have no hash until the next entry."""
    try:
        return int(rows.one(connection, "SELECT count(*) FROM unsealed") or 0)
    except _READING_FAILS:
        return 0


def _photos(connection: Connection, found: Verified) -> None:
    query = f"SELECT row_id, hash FROM seal WHERE what = {form.PHOTO_NUMBER}"
    held: dict[int, str] = {row[0]: row[1] for row in rows.read(connection, query)}
    for photo, content in rows.photos(connection):
        if held.pop(photo, None) != form.digest("", content):
            found.problems.append(f"{words.photo(connection, content)} is not as it was saved.")
    if held:
        found.problems.append(f"What was known of {len(held)} photos is gone.")


def _whole(connection: Connection, found: Verified) -> None:
    for table, (number, _) in form.WHOLE.items():
        query = f"SELECT hash FROM seal WHERE what = {number}"
        kept = rows.one(connection, query)
        content = rows.whole(connection, table)
        expected = form.digest("", content) if content or kept else kept
        if kept != expected and not _unsealed(connection, number):
            found.problems.append(words.WHOLE[table])


def _lists(connection: Connection, found: Verified, step: Step) -> Callable[[int], None]:
    def look(after: int) -> None:
        def read(first: int, last: int) -> Iterator[tuple[int, Content]]:
            return stored.kept(connection, first, last)

        for held in _portions(connection, "seal", "row_id", f"what = {form.VIEW_NUMBER} AND ", after):
            found.jobs.update(row for row, _ in _differing(read, held))
            step("list", max(held))
        sealed = f"SELECT row_id FROM seal WHERE what = {form.VIEW_NUMBER}"
        without = f"SELECT id FROM job WHERE id NOT IN ({sealed})"
        for query in (without, f"{sealed} AND row_id NOT IN (SELECT id FROM job)"):
            found.jobs.update(row[0] for row in rows.read(connection, query))

    return look


def _shelf(connection: Connection, found: Verified, step: Step) -> Callable[[int], None]:
    def look(after: int) -> None:
        open_rows = _unsealed(connection, form.SHELF_NUMBER)

        def read(first: int, last: int) -> Iterator[tuple[int, Content]]:
            return shelved.kept(connection, first, last)

        for held in _portions(connection, "seal", "row_id", f"what = {form.SHELF_NUMBER} AND ", after):
            found.lots.update(row for row, _ in _differing(read, held) if row not in open_rows)
            step("shelf", max(held))
        sealed = f"SELECT row_id FROM seal WHERE what = {form.SHELF_NUMBER}"
        query = f"SELECT id FROM shelf WHERE id NOT IN ({sealed})"
        found.lots.update(row[0] for row in rows.read(connection, query) if row[0] not in open_rows)

    return look


def lists(connection: Connection, found: Verified) -> None:
    """Only what can be made anew: the list, the search, what falls due, the shelf."""
    _lists(connection, found, lambda _part, _last: None)(0)
    _shelf(connection, found, lambda _part, _last: None)(0)


def last_ids(connection: Connection) -> dict[str, int]:
    """The last id of each part, so that progress can be told."""
    found = {"entries": rows.last_id(connection, "chain", "entry_id")}
    query = "SELECT what, max(row_id) FROM seal GROUP BY what"
    names = {number: table for table, (number, _) in form.PLAIN.items()} | {
        form.VIEW_NUMBER: "list",
        form.SHELF_NUMBER: "shelf",
    }
    for row in rows.read(connection, query):
        if row[0] in names:
            found[names[row[0]]] = row[1]
    return found
