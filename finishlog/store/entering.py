"""Keeping one entry with its details, and what its being there changes."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import datetime

from sqlalchemy import func, select, update
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.log import Coat, Entry, Reading
from finishlog.records.writing import NewEntry, NewLoad
from finishlog.store import typed
from finishlog.store.finding import Finder
from finishlog.store.fold import key
from finishlog.store.kinds import version_of
from finishlog.store.loading_entry import load_entry
from finishlog.store.rows import Found, put
from finishlog.store.tables import AreaRow, JobRow, RecipeRow
from finishlog.store.tables_entry import (
    CoatRow,
    EntryRow,
    LoadAreaRow,
    LoadRow,
    MaterialUseRow,
    ReadingRow,
)

POURS = ("pour", "load")


class Entering:
    """Adds entries within one transaction."""

    def __init__(self, connection: Connection, find: Finder, new_uid: Callable[[], str]) -> None:
        self._connection = connection
        self._find = find
        self._new_uid = new_uid

    def add(self, job: int, new: NewEntry, now: datetime) -> Entry:
        """Keep a new entry. Raises InputError for an area or a replaced entry that is not there."""
        areas = self._areas(job)
        replaced = None if new.replaces is None else self._replaceable(job, new.replaces)
        last = select(func.max(EntryRow.number)).where(EntryRow.job_id == job)
        entry = put(
            self._connection,
            EntryRow,
            uid=self._new_uid(),
            job_id=job,
            number=(self._connection.scalar(last) or 0) + 1,
            area_id=None if new.area is None else _area(areas, new.area),
            kind=typed.name(new.kind, "kind"),
            happened=new.happened,
            logged=now,
            exactness=new.exactness,
            person_id=self._find.person(new.person),
            note=typed.note(new.note),
            replaces_id=replaced,
            withdrawn=new.withdrawn,
            facts=typed.facts(new.facts),
            facts_version=version_of(new.kind),
        )
        self._details(entry, new, areas)
        if new.kind in POURS and not new.withdrawn:
            self._poured(job, self._poured_areas(new, areas), now)
        return load_entry(self._connection, entry)

    def standing(self, job: int, number: int | None) -> Found:
        """A current entry by its number, or the one logged last. Raises InputError."""
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
            raise InputError(
                "There is no entry to take back.", "The job has none that stands.", where="ENTRY"
            )
        return found

    def _replaceable(self, job: int, number: int) -> int:
        query = select(EntryRow.id, EntryRow.withdrawn).where(
            EntryRow.job_id == job, EntryRow.number == number
        )
        found = self._connection.execute(query).first()
        if found is None:
            raise InputError(
                f"The job has no entry {number}.", where="replaces", example="the number that show gives"
            )
        by = self._connection.scalar(select(EntryRow.number).where(EntryRow.replaces_id == found.id))
        if by is not None:
            raise InputError(
                f"Entry {number} was already replaced, by entry {by}.", where="replaces", example=str(by)
            )
        if found.withdrawn:
            raise InputError(
                f"Entry {number} only took another back.", "Log what happened anew.", where="replaces"
            )
        return int(found.id)

    def _areas(self, job: int) -> dict[str, int]:
        """Areas of the job by folded name and by uid."""
        query = select(AreaRow.id, AreaRow.uid, AreaRow.name_key).where(AreaRow.job_id == job)
        found = self._connection.execute(query.order_by(AreaRow.position)).all()
        return {row.uid: row.id for row in found} | {row.name_key: row.id for row in found}

    def _details(self, entry: int, new: NewEntry, areas: dict[str, int]) -> None:
        for position, use in enumerate(new.materials, 1):
            product = self._find.product(use.product)
            put(
                self._connection,
                MaterialUseRow,
                entry_id=entry,
                position=position,
                product_id=product,
                lot_id=self._find.lot(product, use.lot),
                amount=use.amount,
                unit=use.unit,
                reclaimed=use.reclaimed,
            )
        if new.load is not None:
            self._load(entry, new.load, areas)
        if new.coat is not None:
            self._coat(entry, new.coat)
        if new.reading is not None:
            self._reading(entry, new.reading)

    def _load(self, entry: int, new: NewLoad, areas: dict[str, int]) -> None:
        put(
            self._connection,
            LoadRow,
            entry_id=entry,
            yards=new.yards,
            returned_yd3=new.returned_yd3,
            dumped_yd3=new.dumped_yd3,
            ticket=typed.maybe(new.ticket, "ticket"),
            mix_id=None if new.mix is None else self._find.mix(new.mix),
            water_gal=new.water_gal,
            water_when=typed.maybe(new.water_when, "time of the water"),
            slump_in=new.slump_in,
            slump_end_in=new.slump_end_in,
            is_balance=new.is_balance,
        )
        split: dict[int, float | None] = {}
        for name, yards in new.areas:
            area = _area(areas, name)
            if area in split:
                raise InputError(f"The load names the area {name} twice.", where="area")
            split[area] = yards
        for area, yards in split.items():
            put(self._connection, LoadAreaRow, entry_id=entry, area_id=area, yards=yards)

    def _coat(self, entry: int, new: Coat) -> None:
        put(
            self._connection,
            CoatRow,
            entry_id=entry,
            number=new.number,
            reseal=new.reseal,
            area_ft2=new.area_ft2,
            slab_f=new.slab_f,
            air_f=new.air_f,
            humidity_percent=new.humidity_percent,
        )

    def _reading(self, entry: int, new: Reading) -> None:
        put(
            self._connection,
            ReadingRow,
            entry_id=entry,
            lightness=new.L,
            a=new.a,
            b=new.b,
            sd_lightness=new.sd_L,
            sd_a=new.sd_a,
            sd_b=new.sd_b,
            spot=typed.name(new.spot, "spot"),
            damp=new.damp,
            sealed=new.sealed,
            source=typed.name(new.source, "source"),
        )

    def _poured_areas(self, new: NewEntry, areas: dict[str, int]) -> set[int]:
        if new.load is not None and new.load.areas:
            return {_area(areas, name) for name, _ in new.load.areas}
        return set(areas.values()) if new.area is None else {_area(areas, new.area)}

    def _poured(self, job: int, areas: Collection[int], now: datetime) -> None:
        """The first pour freezes the recipes of its areas and makes a planned job a poured one."""
        recipes = select(AreaRow.recipe_id).where(AreaRow.id.in_(sorted(areas)))
        freeze = update(RecipeRow).where(RecipeRow.id.in_(recipes), RecipeRow.frozen.is_(None))
        self._connection.execute(freeze.values(frozen=now))
        poured = update(JobRow).where(JobRow.id == job, JobRow.state == "planned")
        self._connection.execute(poured.values(state="poured", version=JobRow.version + 1))


def _area(areas: dict[str, int], name: str) -> int:
    found = areas.get(name) or areas.get(key(name))
    if found is None:
        example = list(areas)[-1] if areas else "field"
        raise InputError(f'The job has no area "{name[:60]}".', where="area", example=example)
    return found
