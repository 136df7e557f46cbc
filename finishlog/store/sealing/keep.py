"""Hashes what a unit of work wrote, in the same transaction, last of all."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy.engine import Connection

from finishlog.store.engine.protocol import Rows, change, put_all
from finishlog.store.schema.rows import RANGE, narrow, read_all, spans
from finishlog.store.schema.tables_seal import ChainRow, SealRow
from finishlog.store.sealing import form, rows, words
from finishlog.store.sealing.form import Content
from finishlog.store.search import projections, shelved, stored

Kept = Callable[[Connection, int, int], Iterator[tuple[int, Content]]]
AT_ONCE = 2000
TOLD = 50
"""Most entries of one unit of work that the mark outside the log can name."""
_NEXT = (
    "SELECT id FROM entry WHERE id > (SELECT coalesce(max(entry_id), 0) FROM chain) "
    f"ORDER BY id LIMIT {AT_ONCE}"
)
_BY_NUMBER = {number: name for name, (number, _) in (form.PLAIN | form.WHOLE).items()}
_WRITTEN = "UPDATE log_state SET writes = :writes, entries = :entries, proof = :proof"
_STATE = "SELECT uid, writes, entries FROM log_state"
_HEAD = "SELECT entry_id, hash FROM chain ORDER BY entry_id DESC LIMIT 1"
_UNSEAL = f"DELETE FROM seal WHERE what = :what AND row_id {RANGE}"
_ALL_SEALED = "DELETE FROM unsealed"
_OPEN = "SELECT DISTINCT what, row_id FROM unsealed ORDER BY what, row_id"


@dataclass(frozen=True, slots=True)
class State:
    """How far a log has been written: its identity, units of work, entries, the last one's id and hash."""

    uid: str
    writes: int
    entries: int
    entry: int
    head: str
    told: tuple[tuple[int, str, str], ...] = ()
    """The newest entries of this unit of work: id, hash, in words."""

    def line(self) -> dict[str, Any]:
        """As a line of the mark that is kept outside the log."""
        found = {name: getattr(self, name) for name in ("writes", "entries", "entry", "head")}
        return found | {"told": self.told}


def seal(
    connection: Connection,
    jobs: Collection[int] = (),
    lots: Collection[int] = (),
    written: Mapping[int, Content] | None = None,
) -> State | None:
    """Hash the new entries, the changed rows, and what is kept of these jobs and lots.

    What is kept of those in `written` is known, as it was just written. None if nothing was written. Only the
    writer may call it, holding the log's write lock.
    """
    *told, new, noted = read_all(connection, (_STATE, _HEAD, _NEXT, _OPEN), {})
    before = _state(*told)
    after = _chained(connection, before, new)
    changed = _sealed(connection, noted) + _views(connection, jobs, written or {}) + _shelf(connection, lots)
    if after == before and not changed:
        return None
    now = State(before.uid, before.writes + 1, after.entries, after.entry, after.head, after.told)
    proof = form.state(now.uid, now.writes, now.entries, now.head)
    change(connection, _WRITTEN, writes=now.writes, entries=now.entries, proof=proof)
    return now


def seal_all(connection: Connection) -> State | None:
    """Like `seal`, for all jobs and lots: of a log that was filled or upgraded."""
    return seal(connection, projections.all_jobs(connection), shelved.every_id(connection))


def state(connection: Connection) -> State:
    """How far the log says it has been written."""
    return _state(*read_all(connection, (_STATE, _HEAD), {}))


def _state(said: Rows, last: Rows) -> State:
    entry, head = (last[0][0], last[0][1]) if last else (0, "")
    uid, writes, entries = said[0]
    return State(uid, writes, entries, entry, head)


def _chained(connection: Connection, before: State, found: Rows) -> State:
    """Chain the entries written since, of which these are the first; answers the last."""
    head, count, entry = before.head, before.entries, before.entry
    told: deque[tuple[int, str, Content]] = deque(maxlen=TOLD)
    while found:
        first, last = found[0][0], found[-1][0]
        links, photos = [], False
        for entry, content in rows.entries(connection, first, last):
            head = form.digest(head, content)
            links.append({"entry_id": entry, "hash": head})
            told.append((entry, head, content))
            photos |= form.has_files(content)
        put_all(connection, ChainRow, links)
        count += len(links)
        if photos:
            _put(connection, form.PHOTO_NUMBER, rows.photos_of(connection, first, last))
        found = rows.read(connection, _NEXT) if len(found) == AT_ONCE else []
    said = tuple((one, kept, words.of_content(connection, content)) for one, kept, content in told)
    return State(before.uid, before.writes, count, entry, head, said)


def _sealed(connection: Connection, noted: Rows) -> int:
    """Hash the rows that the triggers noted; how many."""
    for what, content_of in _portions([(row[0], row[1]) for row in noted]):
        _put(connection, what, _contents(connection, what, content_of))
    if noted:
        change(connection, _ALL_SEALED)
    return len(noted)


def _portions(noted: list[tuple[int, int]]) -> Iterator[tuple[int, list[int]]]:
    """Neighboring rows of one table together, so that a sheet's rows are read at once."""
    some: list[int] = []
    for place, (what, row) in enumerate(noted):
        some.append(row)
        following = noted[place + 1] if place + 1 < len(noted) else None
        if following != (what, row + 1) or len(some) >= AT_ONCE:
            yield what, some
            some = []


def _contents(connection: Connection, what: int, some: list[int]) -> Iterator[tuple[int, Content]]:
    if what == form.SHELF_NUMBER:  # a crew on a server added up a lot, whose price it does not see
        yield from shelved.kept(connection, some[0], some[-1])
        return
    name = _BY_NUMBER[what]
    if name in form.WHOLE:
        yield 0, rows.whole(connection, name)
    else:
        yield from rows.plain(connection, name, some[0], some[-1])


def _views(connection: Connection, jobs: Collection[int], written: Mapping[int, Content]) -> int:
    known = {job: written[job] for job in jobs if job in written}
    if known:
        _put(connection, form.VIEW_NUMBER, known.items())
    rest = [job for job in jobs if job not in known]
    return len(known) + _kept(connection, form.VIEW_NUMBER, rest, stored.kept)


def _shelf(connection: Connection, lots: Collection[int]) -> int:
    return _kept(connection, form.SHELF_NUMBER, lots, shelved.kept)


def _kept(connection: Connection, what: int, ids: Collection[int], kept: Kept) -> int:
    for first, last in spans(sorted(ids)):
        _unseal(connection, what, first, last)
        _put(connection, what, kept(connection, first, last))
    return len(ids)


def _put(connection: Connection, what: int, contents: Iterable[tuple[int, Content]]) -> None:
    """Seal these rows anew, in one go."""
    made = {row: form.digest("", content) for row, content in contents}
    for first, last in spans(sorted(made)):
        _unseal(connection, what, first, last)
    put_all(
        connection, SealRow, [{"what": what, "row_id": row, "hash": sealed} for row, sealed in made.items()]
    )


def _unseal(connection: Connection, what: int, first: int, last: int) -> None:
    span = {"first": first, "last": last}
    change(connection, narrow(_UNSEAL, span), what=what, **span)
