"""What is asked of a few jobs is found by the job, however many entries of the kind the log has."""

from __future__ import annotations

import pytest
from sqlalchemy import create_engine
from sqlalchemy.dialects import sqlite

from finishlog.store.reading import learning, pour_steps, slabs
from finishlog.store.schema.base import Base
from finishlog.store.schema.rows import Query


@pytest.mark.parametrize(
    "query",
    [slabs._loads_query(), slabs._bare_pours_query(), learning._pour_ends_query(), pour_steps._steps_query()],
    ids=("loads", "pours", "ends of pours", "steps"),
)
def test_the_entries_of_a_few_jobs_are_found_by_the_job(query: Query) -> None:
    engine = create_engine("sqlite://")
    Base.metadata.create_all(engine)
    asked = query.params(ids=list(range(1, 513))).compile(
        dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True}
    )
    with engine.connect() as connection:
        connection.exec_driver_sql(
            "CREATE INDEX IF NOT EXISTS ix_entry_kind_happened ON entry (kind, happened)"
        )
        plan = " | ".join(row[3] for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {asked}"))
    assert "ix_entry_kind" not in plan
    assert "(job_id=?)" in plan
