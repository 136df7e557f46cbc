"""Projection of what was learned from readings. It is written by whoever learned it, and never trusted unproved.

A row has a hash over all that stands in it; one that does not match is as good as none. A row holds for its own
`entry` and mark, which came from the same snapshot as what it was learned from: so it may be old, never wrong.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError

from finishlog.records.answers import KeptLearned
from finishlog.store.engine.protocol import change, put, run
from finishlog.store.schema.tables_view import LearnedRow
from finishlog.store.search.dialects import row_number

_ONE = "SELECT spot, part, form, entry, mark, body, hash FROM learned WHERE spot = :spot AND part = :part"
_IDS = "SELECT {0} FROM learned ORDER BY 1"
_BY_ID = "SELECT spot, part, form, entry, mark, body, hash FROM learned WHERE {0} = :id"
_FORGET_ID = "DELETE FROM learned WHERE {0} = :id"
_FORGET = "DELETE FROM learned WHERE spot = :spot AND part = :part"
_FORGET_SPOT = "DELETE FROM learned WHERE spot = :spot"


def kept(connection: Connection, spot: str, part: str) -> KeptLearned | None:
    """A part as it was kept; None where there is none, or a damaged one."""
    return _proved(connection, _ONE, spot=spot, part=part)


def _proved(connection: Connection, query: str, **values: object) -> KeptLearned | None:
    try:
        found = run(connection, query, **values)
    except DBAPIError:  # no text any more
        return None
    for *told, sealed in found:
        one = KeptLearned(*told)
        if _hash(one) == sealed:
            return one
    return None


def keep(connection: Connection, some: Sequence[KeptLearned], *, anew: bool = False) -> None:
    """Write these parts of a spot, instead of all others where learned `anew`. One that knows more stays.

    `some` begins with the shop's part where it is learned anew: a spot that another program learned of more is left
    as it is, whole.
    """
    for place, one in enumerate(some):
        there = kept(connection, one.spot, one.part)
        if there is not None and there.form == one.form and there.entry > one.entry:
            if anew and place == 0:
                return
            continue
        if anew and place == 0:
            change(connection, _FORGET_SPOT, spot=one.spot)
        change(connection, _FORGET, spot=one.spot, part=one.part)
        put(connection, LearnedRow, spot=one.spot, part=one.part, form=one.form, entry=one.entry,
            mark=one.mark, body=one.body, hash=_hash(one))  # fmt: skip


def damaged(connection: Connection) -> tuple[int, ...]:
    """Every row that is not as it was kept."""
    number = row_number(connection)
    one = _BY_ID.format(number)
    ids = [row[0] for row in run(connection, _IDS.format(number))]
    return tuple(each for each in ids if _proved(connection, one, id=each) is None)


def forget(connection: Connection, some: Iterable[int]) -> None:
    """Remove these rows: what they held is learned anew when next it is needed."""
    for one in some:
        change(connection, _FORGET_ID.format(row_number(connection)), id=one)


def _hash(one: KeptLearned) -> str:
    told = "\n".join(map(str, (one.spot, one.part, one.form, one.entry, one.mark, one.body)))
    return hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()
