"""A row without the day of its pour: no day is invented, so its facts stand in the note of the job."""

from __future__ import annotations

from datetime import date

from finishlog.desk.paper_log import pour_facts, pour_rows
from finishlog.desk.paper_log.lines import JobKey
from finishlog.inputs import fields
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.records.when import NO_DAY
from finishlog.records.writing import NewJob
from finishlog.store.schema.fold import key as fold
from finishlog.units import write_date

NAME = "pour, date unknown"
_OF_THE_JOB = (
    "customer",
    "job",
    "street",
    "town",
    "phone",
    "email",
    "buried",
    "buried_where",
    "buried_depth",
)


def key(row: PourRow) -> JobKey:
    """A job's key when no row of it gives a day."""
    return fold(pour_rows.customer_name(row)), fold(_street(row)), fold(row.job or NAME)


def _street(row: PourRow) -> str:
    return row.street or f"street {pour_rows.UNKNOWN} ({row.customer or row.job})"


def note(row: PourRow, said: str) -> str:
    """`Poured, date unknown. Yards 6.75 · Dose 7 lb/yd3 · …`: everything the row tells."""
    told = (
        f"{column.title} {_words(value)}"
        for column in fields.columns(PourRow)
        if column.key not in _OF_THE_JOB and (value := getattr(row, column.key)) is not None
    )
    return " · ".join(part for part in (NO_DAY, *told, said) if part)


def _words(value: object) -> str:
    return write_date(value) if isinstance(value, date) else pour_facts.words(value)


def job(row: PourRow, zone: str, said: str) -> NewJob:
    """The job with its area and recipe; poured, on a day that nobody wrote down."""
    named = row.model_copy(update={"job": row.job or NAME})
    new = pour_rows.new_job(named, zone)
    return NewJob(
        new.name, new.customer, new.site, "poured", None, note(row, said), None, new.areas, new.buried
    )
