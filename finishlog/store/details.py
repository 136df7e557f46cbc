"""The detail rows of an entry: load, coat, reading, sample, approval, claim, materials, files."""

from __future__ import annotations

import math
import mimetypes
from datetime import datetime
from fractions import Fraction

from sqlalchemy import func, select
from sqlalchemy.engine import Connection
from sqlalchemy.orm import aliased

from finishlog.errors import InputError
from finishlog.records.log import Approval, Claim, Coat, Reading
from finishlog.records.writing import NewEntry, NewFile, NewLoad, NewSample
from finishlog.store import typed
from finishlog.store.attachments import Attachments, Kept
from finishlog.store.finding import Finder
from finishlog.store.fold import key
from finishlog.store.rows import put
from finishlog.store.tables_entry import (
    ApprovalRow,
    ClaimRow,
    CoatRow,
    EntryFileRow,
    EntryRow,
    FileRow,
    LoadAreaRow,
    LoadRow,
    MaterialUseRow,
    ReadingRow,
    SampleRow,
)
from finishlog.units import exact, plain

Areas = dict[str, int]
"""Ids of a job's areas by folded name and by uid."""


class Details:
    """Writes what belongs to one entry, within one transaction."""

    def __init__(self, connection: Connection, find: Finder, attachments: Attachments) -> None:
        self._connection = connection
        self._find = find
        self._attachments = attachments

    def put(self, entry: int, job: int, new: NewEntry, areas: Areas, now: datetime) -> None:
        """Write every detail the entry has. Raises InputError for what cannot be."""
        self._materials(entry, new)
        if new.load is not None:
            self._load(entry, new.load, areas)
        if new.coat is not None:
            self._coat(entry, new.coat)
        if new.reading is not None:
            self._reading(entry, new.reading)
        if new.sample is not None:
            self._sample(entry, job, new.sample)
        if new.approval is not None:
            self._approval(entry, new.approval)
        if new.claim is not None:
            self._claim(entry, new.claim)
        for position, file in enumerate(new.files, 1):
            self._file(entry, position, file, now)

    def _materials(self, entry: int, new: NewEntry) -> None:
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

    def _load(self, entry: int, new: NewLoad, areas: Areas) -> None:
        _fits(new)
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
            area = area_of(areas, name)
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

    def _sample(self, entry: int, job: int, new: NewSample) -> None:
        put(
            self._connection,
            SampleRow,
            entry_id=entry,
            number=self._next_sample(entry) if new.number is None else self._free_sample(new.number),
            load_id=None if new.load is None else self._load_of(job, new.load),
            size=typed.maybe(new.size, "size"),
            kept_where=typed.maybe(new.kept_where, "place of the sample"),
            half_sealed=new.half_sealed,
        )

    def _next_sample(self, entry: int) -> int:
        """A correction keeps the number of what it replaces; else one above every number ever given."""
        replaced = select(EntryRow.replaces_id).where(EntryRow.id == entry).scalar_subquery()
        own = self._connection.scalar(select(SampleRow.number).where(SampleRow.entry_id == replaced))
        if own is not None and self._sample_entry(own) is None:
            return own
        return (self._connection.scalar(select(func.max(SampleRow.number))) or 0) + 1

    def _free_sample(self, number: int) -> int:
        taken = self._sample_entry(number)
        if taken is not None:
            free = (self._connection.scalar(select(func.max(SampleRow.number))) or 0) + 1
            raise InputError(
                f"There is already a sample {number}.", "Each number stands on one slab only.",
                where="sample", example=str(free),
            )  # fmt: skip
        return number

    def _sample_entry(self, number: int) -> int | None:
        """The current entry of the sample of that number, over the whole shop."""
        later = aliased(EntryRow)
        query = (
            select(SampleRow.entry_id)
            .outerjoin(later, later.replaces_id == SampleRow.entry_id)
            .where(SampleRow.number == number, later.id.is_(None))
        )
        return self._connection.scalar(query)

    def _load_of(self, job: int, number: int) -> int:
        """The load of that entry number; read back, it is the one that stands for it (`loading_entry`)."""
        query = (
            select(EntryRow.id)
            .join(LoadRow, LoadRow.entry_id == EntryRow.id)
            .where(EntryRow.job_id == job, EntryRow.number == number)
        )
        found = self._connection.scalar(query)
        if found is None:
            raise InputError(
                f"Entry {number} is no load of this job.", "A sample names the entry of its load.",
                where="load", example="the number that show gives",
            )  # fmt: skip
        return found

    def _approval(self, entry: int, new: Approval) -> None:
        if self._sample_entry(new.sample) is None:
            raise InputError(
                f"There is no sample {new.sample}.", "Log the sample before it is approved.", where="sample"
            )
        put(
            self._connection,
            ApprovalRow,
            entry_id=entry,
            sample=new.sample,
            signed_by=typed.name(new.by, "name that signed"),
            approved=new.approved,
        )

    def _claim(self, entry: int, new: Claim) -> None:
        complaint = typed.note(new.complaint, "complaint")
        if complaint is None:
            raise InputError("The complaint is empty.", where="complaint", example="white haze at the steps")
        put(
            self._connection,
            ClaimRow,
            entry_id=entry,
            complaint=complaint,
            cause=typed.note(new.cause, "cause"),
            action=typed.note(new.action, "action"),
            outcome=typed.note(new.outcome, "outcome"),
            settled=new.settled,
        )

    def _file(self, entry: int, position: int, new: NewFile, now: datetime) -> None:
        name = typed.name(new.path.name if new.name is None else new.name, "name of the file")
        kept = self._attachments.keep(new.path)
        self._known(kept, typed.maybe(new.media_type, "kind of file") or mimetypes.guess_type(name)[0], now)
        put(self._connection, EntryFileRow, entry_id=entry, position=position, sha256=kept.sha256, name=name)

    def _known(self, kept: Kept, media_type: str | None, now: datetime) -> None:
        """The row of a content, made when it first comes."""
        if self._connection.scalar(select(FileRow.size).where(FileRow.sha256 == kept.sha256)) is None:
            put(
                self._connection,
                FileRow,
                sha256=kept.sha256,
                size=kept.size,
                media_type=media_type,
                added=now,
            )


def _fits(new: NewLoad) -> None:
    """Areas cannot take more than the truck brought."""
    given = [yards for _, yards in new.areas if yards is not None]
    if not all(math.isfinite(yards) for yards in (*given, new.yards or 0.0)):
        raise InputError("The yards are no number.", where="yards", example="6.75")
    split = [exact(yards) for yards in given]
    if new.yards is not None and sum(split, Fraction(0)) > exact(new.yards):
        parts = " + ".join(plain(yards) for yards in split)
        raise InputError(
            f"The areas take {plain(sum(split, Fraction(0)))} yd³, the load brought {plain(exact(new.yards))}.",
            f"They are {parts}.",
            where="areas",
            example="field=3.5, stairs=1",
        )


def area_of(areas: Areas, name: str) -> int:
    """The id of an area by its name or uid. Raises InputError."""
    found = areas.get(name) or areas.get(key(name))
    if found is None:
        example = list(areas)[-1] if areas else "field"
        raise InputError(f'The job has no area "{name[:60]}".', where="area", example=example)
    return found
