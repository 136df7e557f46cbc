"""The detail rows of an entry: load, coat, reading, sample, approval, claim, materials, files."""

from __future__ import annotations

import math
import mimetypes
from dataclasses import fields
from datetime import datetime
from fractions import Fraction
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.log import Approval, Claim, Reading
from finishlog.records.writing import NewEntry, NewFile, NewLoad, NewSample
from finishlog.store.disk.attachments import Files, Kept
from finishlog.store.engine.protocol import put
from finishlog.store.entering.finding import Finder
from finishlog.store.schema import typed
from finishlog.store.schema.detail_rows import APPROVAL, CLAIM, COAT, LOAD, READING, SAMPLE, Part
from finishlog.store.schema.fold import key
from finishlog.store.schema.rows import table
from finishlog.store.schema.tables_entry import (
    EntryFileRow,
    EntryRow,
    FileRow,
    LoadAreaRow,
    LoadRow,
    MaterialUseRow,
    PhotoRow,
    SampleDoseRow,
    SampleRow,
)
from finishlog.units import exact, plain

Areas = dict[str, int]
"""Ids of a job's areas by folded name and by uid."""


class Details:
    """Writes one entry's details within a transaction."""

    def __init__(self, connection: Connection, find: Finder, attachments: Files) -> None:
        self._connection = connection
        self._find = find
        self._attachments = attachments

    def put(self, entry: int, job: int, new: NewEntry, areas: Areas, now: datetime) -> None:
        """Write all of the entry's details. Raises InputError for contradictions."""
        self._materials(entry, new)
        if new.load is not None:
            self._load(entry, new.load, areas)
        if new.coat is not None:
            self._plain(entry, COAT, new.coat)
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
        mix = None if new.mix is None else self._find.mix(new.mix)
        self._plain(entry, LOAD, new, mix_id=mix)
        split: dict[int, float | None] = {}
        for name, yards in new.areas:
            area = area_of(areas, name)
            if area in split:
                raise InputError(f"The load names the area {name} twice.", where="area")
            split[area] = yards
        for area, yards in split.items():
            put(self._connection, LoadAreaRow, entry_id=entry, area_id=area, yards=yards)

    def _plain(self, entry: int, part: Part, new: Any, **further: Any) -> None:
        put(self._connection, part.row, entry_id=entry, **part.values(new), **further)

    def _reading(self, entry: int, new: Reading) -> None:
        if new.sample is not None and self._sample_entry(new.sample) is None:
            raise _no_sample(new.sample, "Log the sample before you read it.")
        if new.photo is not None and not self._has_photo(new.photo):
            raise InputError("The log has no such photo.", "Add it before you read it.", where="photo")
        self._plain(entry, READING, new)

    def _sample(self, entry: int, job: int, new: NewSample) -> None:
        number = self._next_sample(entry) if new.number is None else self._free_sample(new.number)
        load = None if new.load is None else self._load_of(job, new.load)
        self._plain(entry, SAMPLE, new, number=number, load_id=load)
        for position, (pigment, percent) in enumerate(new.doses, 1):
            product = self._find.product(pigment)
            row = {"position": position, "product_id": product, "percent": percent}
            put(self._connection, SampleDoseRow, entry_id=entry, **row)

    def _next_sample(self, entry: int) -> int:
        """A correction keeps its sample's number; else one above every number ever used."""
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
                f"There is already a sample {number}.", "Use each number on one slab only.",
                where="sample", example=str(free),
            )  # fmt: skip
        return number

    def _sample_entry(self, number: int) -> int | None:
        """The current entry of that sample number, shop-wide."""
        later = table(EntryRow).alias()
        query = (
            select(SampleRow.entry_id)
            .outerjoin(later, later.c.replaces_id == SampleRow.entry_id)
            .where(SampleRow.number == number, later.c.id.is_(None))
        )
        return self._connection.scalar(query)

    def _load_of(self, job: int, number: int) -> int:
        """The load of that entry number; on reading, its current version (`loading_entry`)."""
        query = (
            select(EntryRow.id)
            .join(LoadRow, LoadRow.entry_id == EntryRow.id)
            .where(EntryRow.job_id == job, EntryRow.number == number)
        )
        found = self._connection.scalar(query)
        if found is None:
            raise InputError(
                f"Entry {number} is not a load of this job.", "A sample names its load's entry.",
                where="load", example="the number from show",
            )  # fmt: skip
        return found

    def _approval(self, entry: int, new: Approval) -> None:
        if self._sample_entry(new.sample) is None:
            raise _no_sample(new.sample, "Log the sample before you approve it.")
        self._plain(entry, APPROVAL, new)

    def _claim(self, entry: int, new: Claim) -> None:
        if typed.note(new.complaint, "complaint") is None:
            raise InputError("The complaint is empty.", where="complaint", example="white haze at the steps")
        self._plain(entry, CLAIM, new)

    def _file(self, entry: int, position: int, new: NewFile, now: datetime) -> None:
        name = typed.name(new.path.name if new.name is None else new.name, "name of the file")
        kept = self._attachments.keep(new.path) if new.content is None else self._attachments.put(new.content)
        self._known(kept, typed.maybe(new.media_type, "kind of file") or mimetypes.guess_type(name)[0], now)
        put(self._connection, EntryFileRow, entry_id=entry, position=position, sha256=kept.sha256, name=name)
        if new.photo is not None and not self._has_photo(kept.sha256):
            facts = {each.name: getattr(new.photo, each.name) for each in fields(new.photo)}
            put(self._connection, PhotoRow, sha256=kept.sha256, **facts)

    def _has_photo(self, sha256: str) -> bool:
        query = select(PhotoRow.width).where(PhotoRow.sha256 == sha256)
        return self._connection.scalar(query) is not None

    def _known(self, kept: Kept, media_type: str | None, now: datetime) -> None:
        """The row of a file's content, added on first use."""
        if self._connection.scalar(select(FileRow.size).where(FileRow.sha256 == kept.sha256)) is None:
            put(
                self._connection,
                FileRow,
                sha256=kept.sha256,
                size=kept.size,
                media_type=media_type,
                added=now,
            )


def _no_sample(number: int, cause: str) -> InputError:
    return InputError(f"No sample {number}.", cause, where="sample")


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
