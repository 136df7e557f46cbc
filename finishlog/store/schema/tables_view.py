"""Projections: derived tables for speed, rebuildable from the source at any time.

`finishlog.store.search.projections` writes them in the transaction that changed the source;
`check` rebuilds and compares them.
"""

from __future__ import annotations

from sqlalchemy import ForeignKey, Index, Integer, Text

from finishlog.store.schema.base import Base, may, must, rules
from finishlog.store.schema.types import Day, Facts, Flag, Instant, Real


class JobLineRow(Base):
    """A job as listed, so that a page of the list is one SELECT on one table."""

    __tablename__ = "job_line"
    job_id = must(Integer, ForeignKey("job.id"), primary_key=True)
    handle = must(Text)
    name = must(Text)
    customer = must(Text)
    street = must(Text)
    town = may(Text)
    state = must(Text)
    poured_on = may(Day)
    planned_on = may(Day)
    sort_on = must(Day)
    base = may(Text)
    release = may(Text)
    pattern = may(Text)
    base_hex = may(Text)
    release_hex = may(Text)
    color_name = may(Text)
    release_color_name = may(Text)
    release_left_percent = may(Real)
    __table_args__ = rules(Index("ix_job_line_newest", "sort_on", "job_id"))


class JobFacetRow(Base):
    """One value of one facet of a job: base, release, pattern, sealer, plant, year."""

    __tablename__ = "job_facet"
    job_id = must(Integer, ForeignKey("job.id"), primary_key=True)
    facet = must(Text, primary_key=True)
    value_key = must(Text, primary_key=True)
    value = must(Text)
    __table_args__ = rules(Index("ix_job_facet_value", "facet", "value_key"))


class DueRow(Base):
    """A line of what falls due on a job (`finishlog.trade.due`), in its order.

    `span` classes the window by its length: whole hours from opening to closing, in binary digits. With it
    `finishlog.store.search.due` finds the windows of a time by reading at most about twice as many.
    """

    __tablename__ = "due"
    job_id = must(Integer, ForeignKey("job.id"), primary_key=True)
    position = must(Integer, primary_key=True)
    area_id = may(Integer, ForeignKey("area.id"))
    key = must(Text)
    age_days = may(Integer)
    title = must(Text)
    anchor = must(Instant)
    opens = must(Instant)
    usual_from = must(Instant)
    usual_to = must(Instant)
    closes = must(Instant)
    why = must(Text)
    caution = may(Text)
    span = must(Integer)
    __table_args__ = rules(
        Index("ix_due_span", "span", "closes", "opens"),
        Index("ix_due_key", "key", "span", "closes", "opens"),
    )


class CareRow(Base):
    """A job in the book of reseals (`finishlog.trade.upkeep.care_line`): what does not depend on the day.

    `handle` is the job's, so that the book is sorted without reading the jobs.
    """

    __tablename__ = "care"
    job_id = must(Integer, ForeignKey("job.id"), primary_key=True)
    handle = must(Text)
    state = must(Text)
    left_alone = must(Flag)
    on_day = may(Day)
    on_month = may(Integer)
    due_from = must(Day)
    due_to = must(Day)
    open_month = must(Integer)
    reminded = may(Integer)
    bounced = must(Flag)
    done_on = may(Day)
    done_month = may(Integer)
    __table_args__ = rules(Index("ix_care_done_on", "done_on"))


class ShelfRow(Base):
    """A lot on the shelf, or what was used of a product without a lot: `finishlog.trade.shelf.Tally` as it stands.

    `id` is twice the lot's, or twice the product's and one more. `state` is without what is planned, `kept`
    whether it was ever stocked, `open` whether it is not plainly used up: by these a page of the shelf, and what a
    plan can take, are found without reading every lot there ever was.
    """

    __tablename__ = "shelf"
    id = must(Integer, primary_key=True, autoincrement=False)
    product_id = must(Integer, ForeignKey("product.id"), index=True)
    lot_id = may(Integer, ForeignKey("lot.id"))
    state = must(Text)
    kept = must(Flag)
    open = must(Flag)
    sums = must(Facts)
    __table_args__ = rules()


class LearnedRow(Base):
    """What was learned from readings (`finishlog.desk.color.kept`), a part of a spot in a row.

    The arithmetic of another `form`, or what does not match its hash, is learned anew. `entry` and `mark` say for
    which readings it holds.
    """

    __tablename__ = "learned"
    spot = must(Text, primary_key=True)
    part = must(Text, primary_key=True)
    form = must(Text)
    entry = must(Integer)
    mark = must(Text)
    body = must(Text)
    hash = must(Text)
    __table_args__ = rules()


TEXT_COLUMNS = ("who", "place", "look", "season", "rest")
"""Columns of the search text, most telling first; `search` weighs them in this order."""
