"""The tables of the log: who, where, what with, and the jobs.

Texts are stored as typed; a column ending in `_key` holds the folded text
(finishlog.store.schema.fold) for lookup. Column names carry the unit.
Events are in `tables_entry`, rebuildable projections in `tables_view`.
"""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, Integer, Text, UniqueConstraint, text

from finishlog.store.schema.base import (
    Base,
    an_object,
    editable,
    filled,
    flag,
    may,
    must,
    one_of,
    rules,
    within,
)
from finishlog.store.schema.types import Day, Facts, Flag, Instant, Real

EXPOSURES = ("unknown", "sun", "part shade", "shade", "covered")
RATE_UNITS = ("lb/yd3", "lb/sack", "%", "kg/m3", "lb/100 ft2", "ft2/gal")


class PersonRow(Base):
    """Who worked; one row per name, case dropped."""

    __tablename__ = "person"
    id, uid, version = editable()
    name = must(Text)
    name_key = must(Text, unique=True)
    __table_args__ = rules(filled("name"))


class PlantRow(Base):
    """Where the ready-mix came from."""

    __tablename__ = "plant"
    id, uid, version = editable()
    name = must(Text)
    name_key = must(Text, unique=True)
    __table_args__ = rules(filled("name"))


class MakerRow(Base):
    """Who makes a product."""

    __tablename__ = "maker"
    id, uid, version = editable()
    name = must(Text)
    name_key = must(Text, unique=True)
    __table_args__ = rules(filled("name"))


class CustomerRow(Base):
    """Whoever the job was for; may own several jobs."""

    __tablename__ = "customer"
    id, uid, version = editable()
    name = must(Text)
    name_key = must(Text, index=True)  # two people may share a name
    phone = may(Text)
    email = may(Text)
    note = may(Text)
    leave_alone = must(Flag, server_default="0")
    merged_into_id = may(Integer, ForeignKey("customer.id"), index=True)
    """The customer this double was merged into; the double stays, but is no longer found."""
    __table_args__ = rules(
        filled("name"),
        flag("leave_alone"),
        CheckConstraint("merged_into_id <> id", name="merged_elsewhere"),
    )


class SiteRow(Base):
    """The address of one or more jobs, with its time zone."""

    __tablename__ = "site"
    id, uid, version = editable()
    street = must(Text)
    street_key = must(Text, index=True)
    town = may(Text)
    town_key = may(Text)
    zone = must(Text)
    exposure = must(Text, server_default="unknown")
    map_note = may(Text)
    __table_args__ = rules(filled("street"), one_of("exposure", *EXPOSURES))


class OwnershipRow(Base):
    """Who a site belongs to from a day on."""

    __tablename__ = "ownership"
    id, uid, version = editable()
    site_id = must(Integer, ForeignKey("site.id"), index=True)
    customer_id = must(Integer, ForeignKey("customer.id"), index=True)
    since = must(Day)
    note = may(Text)
    __table_args__ = rules()


class BuriedRow(Base):
    """A line under the slab; depth in inches."""

    __tablename__ = "buried"
    id, uid, version = editable()
    site_id = must(Integer, ForeignKey("site.id"), index=True)
    what = must(Text)
    place = may(Text)
    depth_in = may(Real)
    __table_args__ = rules(filled("what"), within("depth_in"))


class ProductRow(Base):
    """A bag or pail by maker and name; solids and the most allowed are in percent."""

    __tablename__ = "product"
    id, uid, version = editable()
    maker_id = may(Integer, ForeignKey("maker.id"), index=True)
    name = must(Text)
    name_key = must(Text)
    kind = must(Text)
    form = must(Text, server_default="powder")
    chemistry = may(Text)
    solids_percent = may(Real)
    max_percent_of_cement = may(Real)
    pack_lb = may(Real)
    safety = may(Text)
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


class LotRow(Base):
    """One batch of a product, by the code on its label."""

    __tablename__ = "lot"
    id, uid, version = editable()
    product_id = must(Integer, ForeignKey("product.id"))
    code = must(Text)
    code_key = must(Text)
    __table_args__ = rules(UniqueConstraint("product_id", "code_key"), filled("code"))


class MixRow(Base):
    """A ready-mix design as the ticket gives it; pounds per cubic yard."""

    __tablename__ = "mix"
    id, uid, version = editable()
    plant_id = may(Integer, ForeignKey("plant.id"), index=True)
    number = may(Text)
    cement_kind = may(Text)
    cement_mill = may(Text)
    cement_lb_per_yd3 = may(Real)
    scm_kind = may(Text)
    scm_lb_per_yd3 = may(Real)
    admixtures = may(Text)
    sand = may(Text)
    valid_from = may(Day)
    valid_to = may(Day)
    __table_args__ = rules(
        within("cement_lb_per_yd3"),
        within("scm_lb_per_yd3"),
        CheckConstraint("valid_from <= valid_to", name="valid_in_order"),
    )


class JobRow(Base):
    """One piece of work for a customer at a site."""

    __tablename__ = "job"
    id, uid, version = editable()
    handle = must(Text, unique=True)
    name = must(Text)
    name_key = must(Text)
    customer_id = must(Integer, ForeignKey("customer.id"), index=True)
    site_id = must(Integer, ForeignKey("site.id"), index=True)
    reference_id = may(Integer, ForeignKey("job.id"), index=True)
    state = must(Text, server_default="poured")
    planned_on = may(Day)
    note = may(Text)
    logged = must(Instant)
    archived_from = may(Text)
    """The state an archived job returns to."""
    __table_args__ = rules(filled("handle"), one_of("state", "planned", "poured", "archived"))


class RecipeRow(Base):
    """Once frozen it never changes; a new version points back at it."""

    __tablename__ = "recipe"
    id, uid, version = editable()
    name = must(Text)
    name_key = must(Text, index=True)
    from_id = may(Integer, ForeignKey("recipe.id"), index=True)
    frozen = may(Instant)
    reason = may(Text)
    """Why this version replaced the one before."""
    __table_args__ = rules(filled("name"))


class StageRow(Base):
    """One step of a recipe, in order of work."""

    __tablename__ = "stage"
    id = must(Integer, primary_key=True)
    recipe_id = must(Integer, ForeignKey("recipe.id"))
    position = must(Integer)
    kind = must(Text)
    params = must(Facts, server_default="{}")
    params_version = must(Integer, server_default="1")
    __table_args__ = rules(
        UniqueConstraint("recipe_id", "position"),
        filled("kind"),
        an_object("params"),
        within("params_version", 1),
    )


class StageMaterialRow(Base):
    """A product a stage takes and at what rate."""

    __tablename__ = "stage_material"
    stage_id = must(Integer, ForeignKey("stage.id"), primary_key=True)
    position = must(Integer, primary_key=True)
    product_id = must(Integer, ForeignKey("product.id"), index=True)
    lot_id = may(Integer, ForeignKey("lot.id"), index=True)
    rate = may(Real)
    unit = may(Text)
    __table_args__ = rules(within("rate"), one_of("unit", *RATE_UNITS))


class AreaRow(Base):
    """A slab or part of one; square feet, inches."""

    __tablename__ = "area"
    id, uid, version = editable()
    job_id = must(Integer, ForeignKey("job.id"))
    position = must(Integer)
    name = must(Text)
    name_key = must(Text)
    kind = must(Text, server_default="field")
    exposure = must(Text, server_default="unknown")
    area_ft2 = may(Real)
    depth_in = may(Real)
    edge_yd3 = may(Real)
    recipe_id = may(Integer, ForeignKey("recipe.id"), index=True)
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
    area_id = must(Integer, ForeignKey("area.id"), primary_key=True)
    position = must(Integer, primary_key=True)
    sign = must(Integer)
    kind = must(Text)
    dimensions = must(Text)
    depth_in = may(Real)
    __table_args__ = rules(CheckConstraint("sign IN (-1, 1)", name="sign_known"), within("depth_in"))


class AdviceRow(Base):
    """Advice that was acted on, as given. Append-only."""

    __tablename__ = "advice"
    id = must(Integer, primary_key=True)
    uid = must(Text, unique=True)
    job_id = must(Integer, ForeignKey("job.id"), index=True)
    kind = must(Text)
    method = must(Text)
    inputs = must(Text)
    answer = must(Text)
    given = must(Instant)
    __table_args__ = rules(filled("kind"), filled("method"))


class SettingRow(Base):
    """The shop's own value of a setting; others have their default."""

    __tablename__ = "setting"
    key = must(Text, primary_key=True)
    value = must(Text)
    changed = must(Instant)
    __table_args__ = rules()


class DraftRow(Base):
    """An unfinished form, kept until logged or discarded."""

    __tablename__ = "draft"
    key = must(Text, primary_key=True)
    body = must(Text)
    saved = must(Instant)
    __table_args__ = rules()
