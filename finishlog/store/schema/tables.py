"""The tables of the log: who, where, what with, and the jobs.

Texts are stored as typed; a column ending in `_key` holds the folded text
(finishlog.store.schema.fold) for lookup. Column names carry the unit.
Events are in `tables_entry`, rebuildable projections in `tables_view`.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, Integer, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from finishlog.records.log import Fact
from finishlog.store.schema.base import Base, Editable, Id, an_object, filled, flag, one_of, rules, within
from finishlog.store.schema.types import Day, Facts, Flag, Instant, Real

EXPOSURES = ("unknown", "sun", "part shade", "shade", "covered")
RATE_UNITS = ("lb/yd3", "lb/sack", "%", "kg/m3", "lb/100 ft2", "ft2/gal")


class PersonRow(Editable, Base):
    """Who worked; one row per name, case dropped."""

    __tablename__ = "person"
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)
    __table_args__ = rules(filled("name"))


class PlantRow(Editable, Base):
    """Where the ready-mix came from."""

    __tablename__ = "plant"
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)
    __table_args__ = rules(filled("name"))


class MakerRow(Editable, Base):
    """Who makes a product."""

    __tablename__ = "maker"
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)
    __table_args__ = rules(filled("name"))


class CustomerRow(Editable, Base):
    """Whoever the job was for; may own several jobs."""

    __tablename__ = "customer"
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(index=True)  # two people may share a name
    phone: Mapped[str | None]
    email: Mapped[str | None]
    note: Mapped[str | None]
    leave_alone: Mapped[bool] = mapped_column(Flag, server_default="0")
    merged_into_id: Mapped[int | None] = mapped_column(ForeignKey("customer.id"), index=True)
    """The customer this double was merged into; the double stays, but is no longer found."""
    __table_args__ = rules(
        filled("name"),
        flag("leave_alone"),
        CheckConstraint("merged_into_id <> id", name="merged_elsewhere"),
    )


class SiteRow(Editable, Base):
    """The address of one or more jobs, with its time zone."""

    __tablename__ = "site"
    street: Mapped[str]
    street_key: Mapped[str] = mapped_column(index=True)
    town: Mapped[str | None]
    town_key: Mapped[str | None]
    zone: Mapped[str]
    exposure: Mapped[str] = mapped_column(server_default="unknown")
    map_note: Mapped[str | None]
    __table_args__ = rules(filled("street"), one_of("exposure", *EXPOSURES))


class OwnershipRow(Editable, Base):
    """Who a site belongs to from a day on."""

    __tablename__ = "ownership"
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), index=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customer.id"), index=True)
    since: Mapped[date] = mapped_column(Day)
    note: Mapped[str | None]
    __table_args__ = rules()


class BuriedRow(Editable, Base):
    """A line under the slab; depth in inches."""

    __tablename__ = "buried"
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), index=True)
    what: Mapped[str]
    place: Mapped[str | None]
    depth_in: Mapped[float | None] = mapped_column(Real)
    __table_args__ = rules(filled("what"), within("depth_in"))


class ProductRow(Editable, Base):
    """A bag or pail by maker and name; solids and the most allowed are in percent."""

    __tablename__ = "product"
    maker_id: Mapped[int | None] = mapped_column(ForeignKey("maker.id"), index=True)
    name: Mapped[str]
    name_key: Mapped[str]
    kind: Mapped[str]
    form: Mapped[str] = mapped_column(server_default="powder")
    chemistry: Mapped[str | None]
    solids_percent: Mapped[float | None] = mapped_column(Real)
    max_percent_of_cement: Mapped[float | None] = mapped_column(Real)
    pack_lb: Mapped[float | None] = mapped_column(Real)
    safety: Mapped[str | None]
    __table_args__ = rules(
        filled("name"),
        filled("kind"),
        one_of("form", "powder", "liquid"),
        within("solids_percent", 0, 100),
        within("max_percent_of_cement", 0, 100),
        within("pack_lb"),
        # NULLs are distinct in a plain UNIQUE: a shade without a maker could stand twice
        Index("uq_product_shade", "name_key", "kind", text("coalesce(maker_id, 0)"), unique=True),
    )


class LotRow(Editable, Base):
    """One batch of a product, by the code on its label."""

    __tablename__ = "lot"
    product_id: Mapped[int] = mapped_column(ForeignKey("product.id"))
    code: Mapped[str]
    code_key: Mapped[str]
    __table_args__ = rules(UniqueConstraint("product_id", "code_key"), filled("code"))


class MixRow(Editable, Base):
    """A ready-mix design as the ticket gives it; pounds per cubic yard."""

    __tablename__ = "mix"
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id"), index=True)
    number: Mapped[str | None]
    cement_kind: Mapped[str | None]
    cement_mill: Mapped[str | None]
    cement_lb_per_yd3: Mapped[float | None] = mapped_column(Real)
    scm_kind: Mapped[str | None]
    scm_lb_per_yd3: Mapped[float | None] = mapped_column(Real)
    admixtures: Mapped[str | None]
    sand: Mapped[str | None]
    valid_from: Mapped[date | None] = mapped_column(Day)
    valid_to: Mapped[date | None] = mapped_column(Day)
    __table_args__ = rules(
        within("cement_lb_per_yd3"),
        within("scm_lb_per_yd3"),
        CheckConstraint("valid_from <= valid_to", name="valid_in_order"),
    )


class JobRow(Editable, Base):
    """One piece of work for a customer at a site."""

    __tablename__ = "job"
    handle: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    name_key: Mapped[str]
    customer_id: Mapped[int] = mapped_column(ForeignKey("customer.id"), index=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), index=True)
    reference_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"), index=True)
    state: Mapped[str] = mapped_column(server_default="poured")
    planned_on: Mapped[date | None] = mapped_column(Day)
    note: Mapped[str | None]
    logged: Mapped[datetime] = mapped_column(Instant)
    archived_from: Mapped[str | None]
    """The state an archived job returns to."""
    __table_args__ = rules(filled("handle"), one_of("state", "planned", "poured", "archived"))


class RecipeRow(Editable, Base):
    """Once frozen it never changes; a new version points back at it."""

    __tablename__ = "recipe"
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(index=True)
    from_id: Mapped[int | None] = mapped_column(ForeignKey("recipe.id"), index=True)
    frozen: Mapped[datetime | None] = mapped_column(Instant)
    reason: Mapped[str | None]
    """Why this version replaced the one before."""
    __table_args__ = rules(filled("name"))


class StageRow(Base):
    """One step of a recipe, in order of work."""

    __tablename__ = "stage"
    id: Mapped[Id]
    recipe_id: Mapped[int] = mapped_column(ForeignKey("recipe.id"))
    position: Mapped[int] = mapped_column(Integer)
    kind: Mapped[str]
    params: Mapped[Mapping[str, Fact]] = mapped_column(Facts, server_default="{}")
    params_version: Mapped[int] = mapped_column(Integer, server_default="1")
    __table_args__ = rules(
        UniqueConstraint("recipe_id", "position"),
        filled("kind"),
        an_object("params"),
        within("params_version", 1),
    )


class StageMaterialRow(Base):
    """A product a stage takes and at what rate."""

    __tablename__ = "stage_material"
    stage_id: Mapped[int] = mapped_column(ForeignKey("stage.id"), primary_key=True)
    position: Mapped[int] = mapped_column(Integer, primary_key=True)
    product_id: Mapped[int] = mapped_column(ForeignKey("product.id"), index=True)
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)
    rate: Mapped[float | None] = mapped_column(Real)
    unit: Mapped[str | None]
    __table_args__ = rules(within("rate"), one_of("unit", *RATE_UNITS))


class AreaRow(Editable, Base):
    """A slab or part of one; square feet, inches."""

    __tablename__ = "area"
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    position: Mapped[int] = mapped_column(Integer)
    name: Mapped[str]
    name_key: Mapped[str]
    kind: Mapped[str] = mapped_column(server_default="field")
    exposure: Mapped[str] = mapped_column(server_default="unknown")
    area_ft2: Mapped[float | None] = mapped_column(Real)
    depth_in: Mapped[float | None] = mapped_column(Real)
    edge_yd3: Mapped[float | None] = mapped_column(Real)
    recipe_id: Mapped[int | None] = mapped_column(ForeignKey("recipe.id"), index=True)
    __table_args__ = rules(
        UniqueConstraint("job_id", "id"),  # the target of an entry's (job_id, area_id)
        UniqueConstraint("job_id", "position"),
        UniqueConstraint("job_id", "name_key"),
        filled("name"),
        one_of("kind", "field", "border", "band", "stairs", "wall", "repair", "overlay"),
        one_of("exposure", *EXPOSURES),
        within("area_ft2"),
        within("depth_in"),
        within("edge_yd3"),
    )


class ShapeRow(Base):
    """A piece added to an area or cut out of it (`sign` 1 or -1)."""

    __tablename__ = "shape"
    area_id: Mapped[int] = mapped_column(ForeignKey("area.id"), primary_key=True)
    position: Mapped[int] = mapped_column(Integer, primary_key=True)
    sign: Mapped[int] = mapped_column(Integer)
    kind: Mapped[str]
    dimensions: Mapped[str]
    depth_in: Mapped[float | None] = mapped_column(Real)
    __table_args__ = rules(CheckConstraint("sign IN (-1, 1)", name="sign_known"), within("depth_in"))


class AdviceRow(Base):
    """Advice that was acted on, as given. Append-only."""

    __tablename__ = "advice"
    id: Mapped[Id]
    uid: Mapped[str] = mapped_column(unique=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    kind: Mapped[str]
    method: Mapped[str]
    inputs: Mapped[str]
    answer: Mapped[str]
    given: Mapped[datetime] = mapped_column(Instant)
    __table_args__ = rules(filled("kind"), filled("method"))


class SettingRow(Base):
    """The shop's own value of a setting; others have their default."""

    __tablename__ = "setting"
    key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]
    changed: Mapped[datetime] = mapped_column(Instant)
    __table_args__ = rules()


class DraftRow(Base):
    """An unfinished form, kept until logged or discarded."""

    __tablename__ = "draft"
    key: Mapped[str] = mapped_column(primary_key=True)
    body: Mapped[str]
    saved: Mapped[datetime] = mapped_column(Instant)
    __table_args__ = rules()
