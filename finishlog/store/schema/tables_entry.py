"""Events. Every table here is append-only: triggers refuse UPDATE and DELETE.

A correction is a new entry that names the one it replaces (UNIQUE, so that no entry is
replaced twice); an entry is current if neither replaced nor withdrawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    UniqueConstraint,
)
from sqlalchemy.orm import Mapped, mapped_column

from finishlog.records.log import Fact
from finishlog.store.disk.attachments import FILE_MOST
from finishlog.store.schema.base import Base, Identified, an_object, filled, flag, one_of, rules, within
from finishlog.store.schema.types import Facts, Flag, Instant, Real

USE_UNITS = ("lb", "oz", "gal", "fl oz", "kg", "L", "bag")
PHOTO_FORMATS = ("JPEG", "PNG", "TIFF", "WebP", "HEIC")


class EntryRow(Identified, Base):
    """`number` counts within the job."""

    __tablename__ = "entry"
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    number: Mapped[int] = mapped_column(Integer)
    area_id: Mapped[int | None]
    kind: Mapped[str]
    happened: Mapped[datetime] = mapped_column(Instant)
    logged: Mapped[datetime] = mapped_column(Instant)
    exactness: Mapped[str]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"), index=True)
    note: Mapped[str | None]
    replaces_id: Mapped[int | None] = mapped_column(unique=True)
    withdrawn: Mapped[bool] = mapped_column(Flag, server_default="0")
    facts: Mapped[Mapping[str, Fact]] = mapped_column(Facts, server_default="{}")
    facts_version: Mapped[int] = mapped_column(Integer, server_default="1")
    __table_args__ = rules(
        UniqueConstraint("job_id", "id"),
        UniqueConstraint("job_id", "number"),
        # the engine itself refuses an area or replaced entry of another job
        ForeignKeyConstraint(["job_id", "area_id"], ["area.job_id", "area.id"]),
        ForeignKeyConstraint(["job_id", "replaces_id"], ["entry.job_id", "entry.id"]),
        Index("ix_entry_kind_happened", "kind", "happened"),
        filled("kind"),
        one_of("exactness", "exact", "about", "day", "month", "season"),
        flag("withdrawn"),
        CheckConstraint("withdrawn = 0 OR replaces_id IS NOT NULL", name="withdrawn_replaces"),
        CheckConstraint("replaces_id < id", name="replaces_earlier"),
        an_object("facts"),
        within("facts_version", 1),
    )


class LoadRow(Base):
    """A truck of concrete; cubic yards and gallons."""

    __tablename__ = "load"
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"), primary_key=True)
    yards: Mapped[float | None] = mapped_column(Real)
    returned_yd3: Mapped[float | None] = mapped_column(Real)
    dumped_yd3: Mapped[float | None] = mapped_column(Real)
    ticket: Mapped[str | None]
    mix_id: Mapped[int | None] = mapped_column(ForeignKey("mix.id"), index=True)
    water_gal: Mapped[float | None] = mapped_column(Real)
    water_when: Mapped[str | None]
    slump_in: Mapped[float | None] = mapped_column(Real)
    slump_end_in: Mapped[float | None] = mapped_column(Real)
    is_balance: Mapped[bool] = mapped_column(Flag, server_default="0")
    __table_args__ = rules(
        within("yards"),
        within("returned_yd3"),
        within("dumped_yd3"),
        within("water_gal"),
        within("slump_in"),
        within("slump_end_in"),
        flag("is_balance"),
    )


class LoadAreaRow(Base):
    """Which areas a truck served; cubic yards placed in each, if known."""

    __tablename__ = "load_area"
    entry_id: Mapped[int] = mapped_column(ForeignKey("load.entry_id"), primary_key=True)
    area_id: Mapped[int] = mapped_column(ForeignKey("area.id"), primary_key=True, index=True)
    yards: Mapped[float | None] = mapped_column(Real)
    __table_args__ = rules(within("yards"))


class MaterialUseRow(Base):
    """What an entry used up, lot by lot."""

    __tablename__ = "material_use"
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"), primary_key=True)
    position: Mapped[int] = mapped_column(Integer, primary_key=True)
    product_id: Mapped[int] = mapped_column(ForeignKey("product.id"), index=True)
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)
    amount: Mapped[float | None] = mapped_column(Real)
    unit: Mapped[str]
    reclaimed: Mapped[bool] = mapped_column(Flag, server_default="0")
    __table_args__ = rules(within("amount"), one_of("unit", *USE_UNITS), flag("reclaimed"))


class CoatRow(Base):
    """A coat of sealer with the weather it went on in; degrees F."""

    __tablename__ = "coat"
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"), primary_key=True)
    number: Mapped[int | None] = mapped_column(Integer)
    reseal: Mapped[bool] = mapped_column(Flag, server_default="0")
    area_ft2: Mapped[float | None] = mapped_column(Real)
    slab_f: Mapped[float | None] = mapped_column(Real)
    air_f: Mapped[float | None] = mapped_column(Real)
    humidity_percent: Mapped[float | None] = mapped_column(Real)
    __table_args__ = rules(
        within("number", 1),
        flag("reseal"),
        within("area_ft2"),
        within("slab_f", -100, 300),
        within("air_f", -100, 300),
        within("humidity_percent", 0, 100),
    )


class ReadingRow(Base):
    """CIE L*a*b*, D65, 2 degree; each with its standard deviation where known.

    `sample` is the number of the sample it was read on; `box` is x,y,w,h in pixels of the upright `photo`.
    """

    __tablename__ = "reading"
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"), primary_key=True)
    lightness: Mapped[float] = mapped_column(Real, index=True)
    a: Mapped[float] = mapped_column(Real)
    b: Mapped[float] = mapped_column(Real)
    sd_lightness: Mapped[float | None] = mapped_column(Real)
    sd_a: Mapped[float | None] = mapped_column(Real)
    sd_b: Mapped[float | None] = mapped_column(Real)
    spot: Mapped[str]
    damp: Mapped[bool] = mapped_column(Flag, server_default="0")
    sealed: Mapped[bool] = mapped_column(Flag, server_default="0")
    source: Mapped[str]
    photo: Mapped[str | None] = mapped_column(ForeignKey("photo.sha256"), index=True)
    sample: Mapped[int | None] = mapped_column(Integer, index=True)
    box: Mapped[str | None]
    __table_args__ = rules(
        within("lightness", 0, 100),
        within("a", -200, 200),
        within("b", -200, 200),
        within("sd_lightness"),
        within("sd_a"),
        within("sd_b"),
        filled("spot"),
        flag("damp"),
        flag("sealed"),
        within("sample", 1),
        filled("box"),
    )


class SampleRow(Base):
    """`number` is shop-wide and unique among current entries (`entering` ensures it)."""

    __tablename__ = "sample"
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, index=True)
    load_id: Mapped[int | None] = mapped_column(ForeignKey("load.entry_id"), index=True)
    size: Mapped[str | None]
    kept_where: Mapped[str | None]
    half_sealed: Mapped[bool | None] = mapped_column(Flag)
    cement: Mapped[str | None]
    __table_args__ = rules(within("number", 1), flag("half_sealed"))


class SampleDoseRow(Base):
    """A pigment of a sample, in percent of the cementitious mass."""

    __tablename__ = "sample_dose"
    entry_id: Mapped[int] = mapped_column(ForeignKey("sample.entry_id"), primary_key=True)
    position: Mapped[int] = mapped_column(Integer, primary_key=True)
    product_id: Mapped[int] = mapped_column(ForeignKey("product.id"), index=True)
    percent: Mapped[float] = mapped_column(Real)
    __table_args__ = rules(within("percent", 0, 100))


class ApprovalRow(Base):
    """`sample` is the sample's number, as it stands on the slab."""

    __tablename__ = "approval"
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"), primary_key=True)
    sample: Mapped[int] = mapped_column(Integer)
    signed_by: Mapped[str]
    approved: Mapped[bool] = mapped_column(Flag, server_default="1")
    __table_args__ = rules(within("sample", 1), filled("signed_by"), flag("approved"))


class ClaimRow(Base):
    """A customer's complaint and what came of it."""

    __tablename__ = "claim"
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"), primary_key=True)
    complaint: Mapped[str]
    cause: Mapped[str | None]
    action: Mapped[str | None]
    outcome: Mapped[str | None]
    settled: Mapped[bool] = mapped_column(Flag, server_default="0")
    __table_args__ = rules(filled("complaint"), flag("settled"))


class FileRow(Base):
    """A file by content hash; its bytes are beside the log (`finishlog.store.disk.attachments`)."""

    __tablename__ = "file"
    sha256: Mapped[str] = mapped_column(primary_key=True)
    size: Mapped[int] = mapped_column(Integer)
    media_type: Mapped[str | None]
    added: Mapped[datetime] = mapped_column(Instant)
    __table_args__ = rules(
        CheckConstraint("length(sha256) = 64", name="sha256_whole"), within("size", 1, FILE_MOST)
    )


class EntryFileRow(Base):
    """A file under the name the user gave it; its bytes are kept once by hash."""

    __tablename__ = "entry_file"
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"), primary_key=True)
    position: Mapped[int] = mapped_column(Integer, primary_key=True)
    sha256: Mapped[str] = mapped_column(ForeignKey("file.sha256"), index=True)
    name: Mapped[str]
    __table_args__ = rules(filled("name"))


class PhotoRow(Base):
    """A kept picture's metadata: upright size in pixels; the camera's wall time and offset as text."""

    __tablename__ = "photo"
    sha256: Mapped[str] = mapped_column(ForeignKey("file.sha256"), primary_key=True)
    format: Mapped[str]
    width: Mapped[int] = mapped_column(Integer)
    height: Mapped[int] = mapped_column(Integer)
    taken: Mapped[str | None]
    utc_offset: Mapped[str | None]
    clock: Mapped[str]
    __table_args__ = rules(
        one_of("format", *PHOTO_FORMATS),
        within("width", 1),
        within("height", 1),
        one_of("clock", "camera offset", "site wall time", "told", "unknown"),
    )


class StockMoveRow(Identified, Base):
    """A shelf change or count; `amount` in `unit`, `price_usd` for the whole amount."""

    __tablename__ = "stock_move"
    product_id: Mapped[int] = mapped_column(ForeignKey("product.id"), index=True)
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)
    what: Mapped[str]
    amount: Mapped[float | None] = mapped_column(Real)
    unit: Mapped[str]
    price_usd: Mapped[float | None] = mapped_column(Real)
    happened: Mapped[datetime] = mapped_column(Instant)
    logged: Mapped[datetime] = mapped_column(Instant)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"), index=True)
    job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"), index=True)
    note: Mapped[str | None]
    replaces_id: Mapped[int | None] = mapped_column(ForeignKey("stock_move.id"), unique=True)
    withdrawn: Mapped[bool] = mapped_column(Flag, server_default="0")
    __table_args__ = rules(
        one_of("what", "bought", "opened", "counted", "reclaimed", "spoiled", "thrown"),
        within("amount"),
        one_of("unit", *USE_UNITS),
        within("price_usd"),
        flag("withdrawn"),
        CheckConstraint("withdrawn = 0 OR replaces_id IS NOT NULL", name="withdrawn_replaces"),
        CheckConstraint("replaces_id < id", name="replaces_earlier"),
    )


APPEND_ONLY = (
    *("entry", "load", "load_area", "material_use", "coat", "reading", "advice"),
    *("sample", "approval", "claim", "file", "entry_file", "photo", "sample_dose", "stock_move"),
)
"""Append-only tables: a correction is a row of its own."""
