"""Projections: derived tables for speed, rebuildable from the source at any time.

`finishlog.store.search.projections` writes them in the transaction that changed the source;
`check` rebuilds and compares them.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from sqlalchemy import ForeignKey, Index, Integer
from sqlalchemy.orm import Mapped, mapped_column

from finishlog.records.log import Fact
from finishlog.store.schema.base import Base, rules
from finishlog.store.schema.types import Day, Facts, Flag, Instant, Real


class JobLineRow(Base):
    """A job as listed, so that a page of the list is one SELECT on one table."""

    __tablename__ = "job_line"
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), primary_key=True)
    handle: Mapped[str]
    name: Mapped[str]
    customer: Mapped[str]
    street: Mapped[str]
    town: Mapped[str | None]
    state: Mapped[str]
    poured_on: Mapped[date | None] = mapped_column(Day)
    planned_on: Mapped[date | None] = mapped_column(Day)
    sort_on: Mapped[date] = mapped_column(Day)
    base: Mapped[str | None]
    release: Mapped[str | None]
    pattern: Mapped[str | None]
    base_hex: Mapped[str | None]
    release_hex: Mapped[str | None]
    color_name: Mapped[str | None]
    release_color_name: Mapped[str | None]
    release_left_percent: Mapped[float | None] = mapped_column(Real)
    __table_args__ = rules(Index("ix_job_line_newest", "sort_on", "job_id"))


class JobFacetRow(Base):
    """One value of one facet of a job: base, release, pattern, sealer, plant, year."""

    __tablename__ = "job_facet"
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), primary_key=True)
    facet: Mapped[str] = mapped_column(primary_key=True)
    value_key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]
    __table_args__ = rules(Index("ix_job_facet_value", "facet", "value_key"))


class DueRow(Base):
    """A line of what falls due on a job (`finishlog.trade.due`), in its order.

    `span` classes the window by its length: whole hours from opening to closing, in binary digits. With it
    `finishlog.store.search.due` finds the windows of a time by reading at most about twice as many.
    """

    __tablename__ = "due"
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), primary_key=True)
    position: Mapped[int] = mapped_column(Integer, primary_key=True)
    area_id: Mapped[int | None] = mapped_column(ForeignKey("area.id"))
    key: Mapped[str]
    age_days: Mapped[int | None] = mapped_column(Integer)
    title: Mapped[str]
    anchor: Mapped[datetime] = mapped_column(Instant)
    opens: Mapped[datetime] = mapped_column(Instant)
    usual_from: Mapped[datetime] = mapped_column(Instant)
    usual_to: Mapped[datetime] = mapped_column(Instant)
    closes: Mapped[datetime] = mapped_column(Instant)
    why: Mapped[str]
    caution: Mapped[str | None]
    span: Mapped[int] = mapped_column(Integer)
    __table_args__ = rules(
        Index("ix_due_span", "span", "closes", "opens"),
        Index("ix_due_key", "key", "span", "closes", "opens"),
    )


class CareRow(Base):
    """A job in the book of reseals (`finishlog.trade.upkeep.care_line`): what does not depend on the day.

    `handle` is the job's, so that the book is sorted without reading the jobs.
    """

    __tablename__ = "care"
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), primary_key=True)
    handle: Mapped[str]
    state: Mapped[str]
    left_alone: Mapped[bool] = mapped_column(Flag)
    on_day: Mapped[date | None] = mapped_column(Day)
    on_month: Mapped[int | None] = mapped_column(Integer)
    due_from: Mapped[date] = mapped_column(Day)
    due_to: Mapped[date] = mapped_column(Day)
    open_month: Mapped[int] = mapped_column(Integer)
    reminded: Mapped[int | None] = mapped_column(Integer)
    bounced: Mapped[bool] = mapped_column(Flag)
    done_on: Mapped[date | None] = mapped_column(Day)
    done_month: Mapped[int | None] = mapped_column(Integer)
    __table_args__ = rules(Index("ix_care_done_on", "done_on"))


class ShelfRow(Base):
    """A lot on the shelf, or what was used of a product without a lot: `finishlog.trade.shelf.Tally` as it stands.

    `id` is twice the lot's, or twice the product's and one more. `state` is without what is planned, `kept`
    whether it was ever stocked, `open` whether it is not plainly used up: by these a page of the shelf, and what a
    plan can take, are found without reading every lot there ever was.
    """

    __tablename__ = "shelf"
    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    product_id: Mapped[int] = mapped_column(ForeignKey("product.id"), index=True)
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"))
    state: Mapped[str]
    kept: Mapped[bool] = mapped_column(Flag)
    open: Mapped[bool] = mapped_column(Flag)
    sums: Mapped[Mapping[str, Fact]] = mapped_column(Facts)
    __table_args__ = rules()


TEXT_COLUMNS = ("who", "place", "look", "season", "rest")
"""Columns of the search text, most telling first; `search` weighs them in this order."""
