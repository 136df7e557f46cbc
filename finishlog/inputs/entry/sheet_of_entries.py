"""A sheet of entries: one row per entry, columns are the keys of `record`, built from the declarations.

A row of kind `job` starts a new job, with the keys of the new-job form.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

from finishlog.errors import InputError
from finishlog.inputs import jobs, moments
from finishlog.inputs.asking import Field, column
from finishlog.inputs.entry import entries
from finishlog.inputs.entry.entries import Context
from finishlog.inputs.paper_log.mapping import header_key

JOB = "job"
"""Kind of a row that starts a job, and the column naming a row's job."""
NEEDED = ("job", "kind", "at")
OF_THE_ROW = (
    column("job", "Job", "the job's handle, or its name as in a row above", "hill-patio", "row"),
    column("kind", "Kind", "what happened; job begins a new job", "load", "row"),
    column("at", "At", "when, with the day; add about if not exact", "2026-06-04 7:30a", "row"),
    column("replaces", "Replaces", "the number of the job's entry that this row corrects", "4", "row"),
    column("because", "Because", "the reason, if something is odd", "the truck came a day early", "row"),
)


def columns() -> tuple[Field, ...]:
    """All possible columns: of the row, of a new job, then of each kind in order of work."""
    found = {each.key: each for each in OF_THE_ROW}
    kinds = (entries.fields_of(kind.key, entries.bare()) for kind in entries.kinds())
    for field in (*jobs.FIELDS, *(each for fields in kinds for each in fields)):
        found.setdefault(field.key, _column(field))
    return tuple(found.values())


def _column(field: Field) -> Field:
    unit = f", {field.unit}" if field.unit and field.unit not in field.title else ""
    said = f"{field.title}{unit}" + (f": {field.help}" if field.help else "")
    return replace(field, help=said)


def is_one(headers: Iterable[str]) -> bool:
    """Whether these headers belong to a sheet of entries, not of pours."""
    return {"job", "kind"} <= {header_key(header) for header in headers}  # `at` may have been forgotten


def template() -> str:
    """An empty sheet of entries: columns per kind, help per column, then the header."""
    every = columns()
    width = max(len(each.key) for each in every)
    lines = [
        "# One row per entry. Needed: job, kind and at. A new job has a row of the kind job above its entries.",
        "# A blank is unknown. Columns may be left out or put in another order.",
        f"# job: {_listed(jobs.FIELDS)}",
        *(
            f"# {kind.key}: {_listed(entries.fields_of(kind.key, entries.bare()))}"
            for kind in entries.kinds()
        ),
        *(f"# {each.key:<{width}}  {each.help}. Like: {each.example}" for each in every),
        ",".join(each.key for each in every),
    ]
    return "\n".join(lines) + "\n"


def _listed(fields: Sequence[Field]) -> str:
    return ", ".join(field.key for field in fields)


def need_day(text: str, context: Context) -> None:
    """Requires a time that means the same whenever the sheet is read. Raises InputError."""
    moment, before = (
        moments.read_moment(text, now, context.zone) for now in (context.now, context.now - timedelta(days=1))
    )
    if moment.instant != before.instant:
        raise InputError(
            "Of which day?", "A sheet needs the day too.", where="at", example="2026-06-04 7:30a"
        )


def as_kept(kind: str, texts: Mapping[str, str], context: Context) -> dict[str, str]:
    """The texts as the log would write them back. Raises InputError."""
    fields = {field.key: field for field in entries.fields_of(kind, context)}
    return {key: fields[key].text(fields[key].read(text)) for key, text in texts.items() if key in fields}
