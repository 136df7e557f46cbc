"""Saves an entry with its details, and applies its consequences."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from datetime import datetime
from functools import cache

from sqlalchemy import Update, bindparam, select, update
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.log import Entry
from finishlog.records.writing import NewEntry
from finishlog.store.disk.attachments import Files
from finishlog.store.engine.protocol import change, put
from finishlog.store.entering.details import Areas, Details, area_of
from finishlog.store.entering.finding import Finder
from finishlog.store.reading.details import PARTS
from finishlog.store.reading.entries import load_entry
from finishlog.store.schema import typed
from finishlog.store.schema.kinds import version_of
from finishlog.store.schema.rows import Found, read_all, table
from finishlog.store.schema.tables import JobRow
from finishlog.store.schema.tables_entry import EntryRow
from finishlog.store.schema.types import write_instant

POURS = ("pour", "load")
_LAST = "SELECT max(number) FROM entry WHERE job_id = :job"
_AREAS = "SELECT id, uid, name_key FROM area WHERE job_id = :job ORDER BY position"
_FREEZE = """
UPDATE recipe SET frozen = :now
WHERE frozen IS NULL AND id = (SELECT recipe_id FROM area WHERE id = :area)
"""
_SET_POURED = "UPDATE job SET state = 'poured', version = version + 1 WHERE id = :job AND state = 'planned'"


class Entering:
    """Adds entries within one transaction."""

    def __init__(
        self, connection: Connection, find: Finder, new_uid: Callable[[], str], attachments: Files
    ) -> None:
        self._connection = connection
        self._find = find
        self._new_uid = new_uid
        self._details = Details(connection, find, attachments)

    def add(self, job: int, new: NewEntry, now: datetime) -> tuple[Entry, bool]:
        """Save a new entry; also returns whether anything else of a job changed.

        Raises InputError for a missing area or replaced entry.
        """
        (areas, number), filled = self._areas_and_next(job), self._find.filled
        entry = self._keep(job, number, new, areas, now)
        changed = _pours(new) and self._poured(job, self._poured_areas(new, areas), now)
        if new.withdrawn and new.kind in POURS:
            changed = self._unpoured(job)
        return self._loaded(entry, new), changed or self._find.filled != filled

    def _loaded(self, entry: int, new: NewEntry) -> Entry:
        return load_entry(self._connection, entry, [part for part in PARTS if getattr(new, part)])

    def add_all(self, job: int, news: Iterable[NewEntry], now: datetime) -> None:
        """Like `add` for each in turn, without reading back: three times faster."""
        areas, first = self._areas_and_next(job)
        poured: set[int] = set()
        is_poured = False
        for number, new in enumerate(news, first):
            self._keep(job, number, new, areas, now)
            if _pours(new):
                is_poured = True
                poured |= self._poured_areas(new, areas)
        if is_poured:
            self._poured(job, poured, now)

    def _keep(self, job: int, number: int, new: NewEntry, areas: Areas, now: datetime) -> int:
        entry = put(
            self._connection,
            EntryRow,
            uid=new.uid or self._new_uid(),
            job_id=job,
            number=number,
            area_id=None if new.area is None else area_of(areas, new.area),
            kind=typed.name(new.kind, "kind"),
            happened=new.happened,
            logged=now,
            exactness=new.exactness,
            person_id=self._find.person(new.person),
            note=typed.note(new.note),
            replaces_id=None if new.replaces is None else self._replaceable(job, new.replaces, new.again),
            withdrawn=new.withdrawn,
            facts=typed.facts(new.facts),
            facts_version=version_of(new.kind),
        )
        self._details.put(entry, job, new, areas, now)
        return entry

    def standing(self, job: int, number: int | None) -> Found:
        """A current entry by number, or the last logged. Raises InputError."""
        if number is None:
            return self._last(job)
        self._replaceable(job, number)
        query = select(EntryRow.number, EntryRow.kind, EntryRow.happened, EntryRow.exactness)
        return self._connection.execute(query.where(EntryRow.job_id == job, EntryRow.number == number)).one()

    def _last(self, job: int) -> Found:
        replaced = select(EntryRow.replaces_id).where(
            EntryRow.job_id == job, EntryRow.replaces_id.is_not(None)
        )
        query = (
            select(EntryRow.number, EntryRow.kind, EntryRow.happened, EntryRow.exactness)
            .where(EntryRow.job_id == job, EntryRow.withdrawn.is_(False), EntryRow.id.not_in(replaced))
            .order_by(EntryRow.number.desc())
            .limit(1)
        )
        found = self._connection.execute(query).first()
        if found is None:
            raise InputError("No entry to undo.", "The job has no current entry.", where="ENTRY")
        return found

    def _replaceable(self, job: int, number: int, again: bool = False) -> int:
        """The id of an entry not yet replaced; only a redo may replace an undo."""
        query = select(EntryRow.id, EntryRow.withdrawn).where(
            EntryRow.job_id == job, EntryRow.number == number
        )
        found = self._connection.execute(query).first()
        if found is None:
            raise InputError(
                f"The job has no entry {number}.", where="replaces", example="the number from show"
            )
        by = self._connection.scalar(select(EntryRow.number).where(EntryRow.replaces_id == found.id))
        if by is not None:
            raise InputError(
                f"Entry {number} was already replaced by entry {by}.", where="replaces", example=str(by)
            )
        if found.withdrawn and not again:
            raise InputError(f"Entry {number} only undid another.", "Log it again.", where="replaces")
        return int(found.id)

    def _areas_and_next(self, job: int) -> tuple[Areas, int]:
        """Areas of the job by folded name and by uid, and the number of its next entry."""
        found, last = read_all(self._connection, (_AREAS, _LAST), {"job": job})
        areas = {uid: area for area, uid, _ in found} | {name: area for area, _, name in found}
        return areas, (last[0][0] or 0) + 1

    def _poured_areas(self, new: NewEntry, areas: Areas) -> set[int]:
        if new.load is not None and new.load.areas:
            return {area_of(areas, name) for name, _ in new.load.areas}
        return set(areas.values()) if new.area is None else {area_of(areas, new.area)}

    def _poured(self, job: int, areas: Collection[int], now: datetime) -> bool:
        """The first pour freezes its areas' recipes and makes a planned job poured; returns whether it did."""
        instant = write_instant(now)
        frozen = sum(change(self._connection, _FREEZE, area=area, now=instant) for area in sorted(areas))
        return bool(change(self._connection, _SET_POURED, job=job) or frozen)

    def _unpoured(self, job: int) -> bool:
        """Undoing a job's only pour makes it planned again if it has a day; returns whether it did."""
        return bool(self._connection.execute(_set_planned(), {"job": job}).rowcount)


@cache
def _set_planned() -> Update:
    later = table(EntryRow).alias()
    stands = select(EntryRow.id).outerjoin(later, later.c.replaces_id == EntryRow.id).where(
        EntryRow.job_id == JobRow.id, EntryRow.kind.in_(POURS), EntryRow.withdrawn.is_(False), later.c.id.is_(None)
    )  # fmt: skip
    unpoured = update(JobRow).where(
        JobRow.id == bindparam("job"), JobRow.state == "poured", JobRow.planned_on.is_not(None), ~stands.exists()
    )  # fmt: skip
    return unpoured.values(state="planned", version=JobRow.version + 1)


def _pours(new: NewEntry) -> bool:
    return new.kind in POURS and not new.withdrawn
