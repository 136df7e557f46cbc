"""Events. Every table here is append-only: triggers refuse UPDATE and DELETE.

A correction is a new entry that names the one it replaces (UNIQUE, so that no entry is
replaced twice); an entry is current if neither replaced nor withdrawn.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    Text,
    UniqueConstraint,
)

from finishlog.store.disk.attachments import FILE_MOST
from finishlog.store.schema.base import (
    Base,
    an_object,
    filled,
    flag,
    identified,
    may,
    must,
    one_of,
    rules,
    within,
)
from finishlog.store.schema.types import Facts, Flag, Instant, Real

USE_UNITS = ("lb", "oz", "gal", "fl oz", "kg", "L", "bag")
PHOTO_FORMATS = ("JPEG", "PNG", "TIFF", "WebP", "HEIC")


class EntryRow(Base):
    """`number` counts within the job."""

    __tablename__ = "entry"
    id, uid = identified()
    job_id = must(Integer, ForeignKey("job.id"))
    number = must(Integer)
    area_id = may(Integer)
    kind = must(Text)
    happened = must(Instant)
    logged = must(Instant)
    exactness = must(Text)
    person_id = may(Integer, ForeignKey("person.id"), index=True)
    note = may(Text)
    replaces_id = may(Integer, unique=True)
    withdrawn = must(Flag, server_default="0")
    facts = must(Facts, server_default="{}")
    facts_version = must(Integer, server_default="1")
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
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    yards = may(Real)
    returned_yd3 = may(Real)
    dumped_yd3 = may(Real)
    ticket = may(Text)
    mix_id = may(Integer, ForeignKey("mix.id"), index=True)
    water_gal = may(Real)
    water_when = may(Text)
    slump_in = may(Real)
    slump_end_in = may(Real)
    is_balance = must(Flag, server_default="0")
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
    entry_id = must(Integer, ForeignKey("load.entry_id"), primary_key=True)
    area_id = must(Integer, ForeignKey("area.id"), primary_key=True, index=True)
    yards = may(Real)
    __table_args__ = rules(within("yards"))


class MaterialUseRow(Base):
    """What an entry used up, lot by lot."""

    __tablename__ = "material_use"
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    position = must(Integer, primary_key=True)
    product_id = must(Integer, ForeignKey("product.id"), index=True)
    lot_id = may(Integer, ForeignKey("lot.id"), index=True)
    amount = may(Real)
    unit = must(Text)
    reclaimed = must(Flag, server_default="0")
    __table_args__ = rules(within("amount"), one_of("unit", *USE_UNITS), flag("reclaimed"))


class CoatRow(Base):
    """A coat of sealer with the weather it went on in; degrees F."""

    __tablename__ = "coat"
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    number = may(Integer)
    reseal = must(Flag, server_default="0")
    area_ft2 = may(Real)
    slab_f = may(Real)
    air_f = may(Real)
    humidity_percent = may(Real)
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

    `sample` is the number of the sample it was read on; `box` is x,y,w,h in pixels of the upright `photo`. `camera`
    took it; `card` is how the photo shows the 24 patches of its card, six hex digits of red, green, blue each.
    """

    __tablename__ = "reading"
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    lightness = must(Real, index=True)
    a = must(Real)
    b = must(Real)
    sd_lightness = may(Real)
    sd_a = may(Real)
    sd_b = may(Real)
    spot = must(Text)
    damp = must(Flag, server_default="0")
    sealed = must(Flag, server_default="0")
    source = must(Text)
    photo = may(Text, ForeignKey("photo.sha256"), index=True)
    sample = may(Integer, index=True)
    box = may(Text)
    camera = may(Text, index=True)
    card = may(Text)
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
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    number = must(Integer, index=True)
    load_id = may(Integer, ForeignKey("load.entry_id"), index=True)
    size = may(Text)
    kept_where = may(Text)
    half_sealed = may(Flag)
    cement = may(Text)
    __table_args__ = rules(within("number", 1), flag("half_sealed"))


class SampleDoseRow(Base):
    """A pigment of a sample, in percent of the cementitious mass."""

    __tablename__ = "sample_dose"
    entry_id = must(Integer, ForeignKey("sample.entry_id"), primary_key=True)
    position = must(Integer, primary_key=True)
    product_id = must(Integer, ForeignKey("product.id"), index=True)
    percent = must(Real)
    __table_args__ = rules(within("percent", 0, 100))


class ApprovalRow(Base):
    """`sample` is the sample's number, as it stands on the slab."""

    __tablename__ = "approval"
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    sample = must(Integer)
    signed_by = must(Text)
    approved = must(Flag, server_default="1")
    __table_args__ = rules(within("sample", 1), filled("signed_by"), flag("approved"))


class ClaimRow(Base):
    """A customer's complaint and what came of it."""

    __tablename__ = "claim"
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    complaint = must(Text)
    cause = may(Text)
    action = may(Text)
    outcome = may(Text)
    settled = must(Flag, server_default="0")
    __table_args__ = rules(filled("complaint"), flag("settled"))


class FileRow(Base):
    """A file by content hash; its bytes are beside the log (`finishlog.store.disk.attachments`)."""

    __tablename__ = "file"
    sha256 = must(Text, primary_key=True)
    size = must(Integer)
    media_type = may(Text)
    added = must(Instant)
    __table_args__ = rules(
        CheckConstraint("length(sha256) = 64", name="sha256_whole"), within("size", 1, FILE_MOST)
    )


class EntryFileRow(Base):
    """A file under the name the user gave it; its bytes are kept once by hash."""

    __tablename__ = "entry_file"
    entry_id = must(Integer, ForeignKey("entry.id"), primary_key=True)
    position = must(Integer, primary_key=True)
    sha256 = must(Text, ForeignKey("file.sha256"), index=True)
    name = must(Text)
    __table_args__ = rules(filled("name"))


class PhotoRow(Base):
    """A kept picture's metadata: upright size in pixels; the camera's wall time and offset as text."""

    __tablename__ = "photo"
    sha256 = must(Text, ForeignKey("file.sha256"), primary_key=True)
    format = must(Text)
    width = must(Integer)
    height = must(Integer)
    taken = may(Text)
    utc_offset = may(Text)
    clock = must(Text)
    __table_args__ = rules(
        one_of("format", *PHOTO_FORMATS),
        within("width", 1),
        within("height", 1),
        one_of("clock", "camera offset", "site wall time", "told", "unknown"),
    )


class StockMoveRow(Base):
    """A shelf change or count; `amount` in `unit`, `price_usd` for the whole amount."""

    __tablename__ = "stock_move"
    id, uid = identified()
    product_id = must(Integer, ForeignKey("product.id"), index=True)
    lot_id = may(Integer, ForeignKey("lot.id"), index=True)
    what = must(Text)
    amount = may(Real)
    unit = must(Text)
    price_usd = may(Real)
    happened = must(Instant)
    logged = must(Instant)
    person_id = may(Integer, ForeignKey("person.id"), index=True)
    job_id = may(Integer, ForeignKey("job.id"), index=True)
    note = may(Text)
    replaces_id = may(Integer, ForeignKey("stock_move.id"), unique=True)
    withdrawn = must(Flag, server_default="0")
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
