"""Recipes that somebody joined: poured under several names, they are one when it comes to their color.

Each joining is an entry (`recipe_joined`) on a job of the recipe that was joined; taken back like any other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sqlalchemy import select
from sqlalchemy.engine import Connection
from sqlalchemy.orm import aliased

from finishlog.store.schema.tables import JobRow
from finishlog.store.schema.tables_entry import EntryRow
from finishlog.trade.event_kinds import JOINED, JOINED_RECIPE, JOINED_TO


def joined(connection: Connection) -> dict[str, str]:
    """The uid that stands for each joined recipe's family, by the family's own; none for the others."""
    told = {recipe: to for recipe, to, _ in _told(connection)}
    return {recipe: last(told, recipe) for recipe in told}


def jobs(connection: Connection, uid: str) -> tuple[str, ...]:
    """Handles of the jobs whose recipe was joined to this one, as joined."""
    told = list(_told(connection))
    stands_for = joined(connection) if told else {}
    return tuple(dict.fromkeys(handle for recipe, _, handle in told if stands_for[recipe] == uid))


def _told(connection: Connection) -> Iterator[tuple[str, str, str]]:
    """The standing entries: the family that was joined, the one it was joined to, the job."""
    later = aliased(EntryRow)
    query = (
        select(EntryRow.facts, JobRow.handle)
        .join(JobRow, JobRow.id == EntryRow.job_id)
        .outerjoin(later, later.replaces_id == EntryRow.id)
        .where(EntryRow.kind == JOINED, EntryRow.withdrawn.is_(False), later.id.is_(None))
        .order_by(EntryRow.id)
    )
    for facts, handle in connection.execute(query):
        yield str(facts.get(JOINED_RECIPE)), str(facts.get(JOINED_TO)), handle


def last(told: dict[str, str], recipe: str) -> str:
    """What stands for a recipe in the end; of those joined in a circle the first by uid."""
    seen = [recipe]
    while (after := told.get(seen[-1])) is not None:
        if after in seen:
            return min(seen[seen.index(after) :])
        seen.append(after)
    return seen[-1]


def group(told: dict[str, str], roots: Iterable[str]) -> set[str]:
    """These families and all that are joined with one of them."""
    named = {told.get(root, root) for root in roots}
    return named | {recipe for recipe, to in told.items() if to in named}
