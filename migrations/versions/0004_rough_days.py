"""An entry may be known by its month or season alone.

Carries frozen copies of what it needs and never imports the program.
"""

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

Column = sa.Column[Any]
COLUMNS = (
    *("id", "uid", "job_id", "number", "area_id", "kind", "happened", "logged", "exactness", "person_id"),
    *("note", "replaces_id", "withdrawn", "facts", "facts_version"),
)
KNOWN = "exactness IN ('exact', 'about', 'day', 'month', 'season')"


def upgrade() -> None:
    if op.get_bind().dialect.name != "sqlite":
        op.drop_constraint(op.f("ck_entry_exactness_known"), "entry", type_="check")
        op.create_check_constraint(op.f("ck_entry_exactness_known"), "entry", KNOWN)
        return
    # SQLite cannot change a constraint in place. The new table is renamed, never the old one, so that what
    # refers to it goes on doing so.
    _entry("new_entry")
    listed = ", ".join(COLUMNS)
    op.execute(f"INSERT INTO new_entry ({listed}) SELECT {listed} FROM entry ORDER BY id")
    op.drop_table("entry")
    op.rename_table("new_entry", "entry")
    op.create_index("ix_entry_kind_happened", "entry", ["kind", "happened"])
    op.create_index("ix_entry_person_id", "entry", ["person_id"])
    body = "ON entry BEGIN SELECT RAISE(ABORT, 'entry is append-only: log a correction'); END"
    op.execute(f"CREATE TRIGGER entry_no_update BEFORE UPDATE {body}")
    op.execute(f"CREATE TRIGGER entry_no_delete BEFORE DELETE {body}")


def _texts(*names: str, null: bool = False, default: str | None = None) -> Iterator[Column]:
    yield from (sa.Column(name, sa.Text(), nullable=null, server_default=default) for name in names)


def _wholes(*names: str, null: bool = False, default: str | None = None) -> Iterator[Column]:
    yield from (sa.Column(name, sa.Integer(), nullable=null, server_default=default) for name in names)


def _check(name: str, condition: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(condition, name=f"ck_entry_{name}")


def _entry(name: str) -> None:
    op.create_table(
        name,
        *_wholes("id"),
        *_texts("uid"),
        *_wholes("job_id", "number"),
        *_wholes("area_id", null=True),
        *_texts("kind", "happened", "logged", "exactness"),
        *_wholes("person_id", null=True),
        *_texts("note", null=True),
        *_wholes("replaces_id", null=True),
        *_wholes("withdrawn", default="0"),
        *_texts("facts", default="{}"),
        *_wholes("facts_version", default="1"),
        sa.PrimaryKeyConstraint("id", name="pk_entry"),
        sa.UniqueConstraint("job_id", "id", name="uq_entry_job_id_id"),
        sa.UniqueConstraint("job_id", "number", name="uq_entry_job_id_number"),
        sa.UniqueConstraint("replaces_id", name="uq_entry_replaces_id"),
        sa.UniqueConstraint("uid", name="uq_entry_uid"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_entry_job_id"),
        sa.ForeignKeyConstraint(
            ["job_id", "area_id"], ["area.job_id", "area.id"], name="fk_entry_job_id_area_id"
        ),
        sa.ForeignKeyConstraint(
            ["job_id", "replaces_id"], [f"{name}.job_id", f"{name}.id"], name="fk_entry_job_id_replaces_id"
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_entry_person_id"),
        _check("kind_filled", "kind <> ''"),
        _check("withdrawn_flag", "withdrawn IN (0, 1)"),
        _check("exactness_known", KNOWN),
        _check("facts_object", "facts LIKE '{%}'"),
        _check("facts_version_within", "facts_version BETWEEN 1 AND 1000000000"),
        _check("replaces_earlier", "replaces_id < id"),
        _check("withdrawn_replaces", "withdrawn = 0 OR replaces_id IS NOT NULL"),
        sqlite_strict=True,
    )
