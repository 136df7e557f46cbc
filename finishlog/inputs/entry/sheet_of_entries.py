"""A sheet of entries: one row per entry, its columns the keys that `record` takes; drawn from the declarations.

A row of the kind `job` begins a new job, with the keys of a new job's form.
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
"""The kind of a row that begins a job, and the column that says which job a row is of."""
NEEDED = ("job", "kind", "at")
OF_THE_ROW = (
    column("job", "Job", "the job's handle, or its name as in a row above", "hill-patio", "row"),
    column("kind", "Kind", "what happened; job begins a new job", "load", "row"),
    column("at", "At", "when, with the day; add about if not exact", "2026-06-04 7:30a", "row"),
    column("replaces", "Replaces", "the number of the job's entry that this row corrects", "4", "row"),
    column("because", "Because", "the reason, if something is odd", "the truck came a day early", "row"),
)


def columns() -> tuple[Field, ...]:
    """Every column there may be: of the row, of a new job, then of each kind in the order of the work."""
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
    """Whether a sheet with these headers tells entries, not pours."""
    return {"job", "kind"} <= {header_key(header) for header in headers}  # `at` may have been forgotten


def template() -> str:
    """An empty sheet of entries: which columns each kind has, the help of each column, then the header."""
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
    """That a time means the same whenever the sheet is read. Raises InputError."""
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
