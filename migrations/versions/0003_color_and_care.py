"""Photos, readings off a photo or on a sample, doses of samples; the shelf; what falls due.

Carries frozen copies of what it needs and never imports the program.
"""

from collections.abc import Callable, Iterator
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

Column = sa.Column[Any]
NEW_APPEND_ONLY = ("photo", "sample_dose", "stock_move")


def upgrade() -> None:
    _photo()
    if op.get_bind().dialect.name == "sqlite":
        _remade()
    else:
        _changed()
    for create in (_sample_dose, _stock_move, _due):
        create()
    for table in NEW_APPEND_ONLY:
        _append_only(table)


def _remade() -> None:
    _rebuild("customer", _customer, {"name_key": "name_key", "merged_into_id": "merged_into_id"})
    _rebuild("reading", _reading, {"lightness": "lightness", "photo": "photo", "sample": "sample"})
    op.execute("ALTER TABLE product ADD COLUMN safety TEXT")
    op.execute("ALTER TABLE sample ADD COLUMN cement TEXT")
    _append_only("reading")


def _changed() -> None:
    """The same on PostgreSQL, which changes a table in place."""
    for statement in PLACE:
        op.execute(statement)
    for column in ("photo", "sample"):
        op.create_index(f"ix_reading_{column}", "reading", [column])


PLACE = (
    "ALTER TABLE customer ADD COLUMN leave_alone BIGINT NOT NULL DEFAULT '0'",
    "ALTER TABLE customer RENAME COLUMN merged_into_id TO merged_before",  # columns in one order on both engines
    "ALTER TABLE customer ADD COLUMN merged_into_id BIGINT",
    "UPDATE customer SET merged_into_id = merged_before",
    "ALTER TABLE customer DROP COLUMN merged_before",
    "ALTER TABLE customer ADD CONSTRAINT fk_customer_merged_into_id FOREIGN KEY (merged_into_id) "
    "REFERENCES customer (id) DEFERRABLE",
    "ALTER TABLE customer ADD CONSTRAINT ck_customer_merged_elsewhere CHECK (merged_into_id <> id)",
    "CREATE INDEX ix_customer_merged_into_id ON customer (merged_into_id)",
    "ALTER TABLE customer ADD CONSTRAINT ck_customer_leave_alone_flag CHECK (leave_alone IN (0, 1))",
    'ALTER TABLE reading ADD COLUMN photo TEXT COLLATE "C"',
    "ALTER TABLE reading ADD COLUMN sample BIGINT",
    'ALTER TABLE reading ADD COLUMN box TEXT COLLATE "C"',
    "ALTER TABLE reading ADD CONSTRAINT fk_reading_photo FOREIGN KEY (photo) REFERENCES photo (sha256) DEFERRABLE",
    "ALTER TABLE reading ADD CONSTRAINT ck_reading_sample_within CHECK (sample BETWEEN 1 AND 1000000000)",
    "ALTER TABLE reading ADD CONSTRAINT ck_reading_box_filled CHECK (box <> '')",
    'ALTER TABLE product ADD COLUMN safety TEXT COLLATE "C"',
    'ALTER TABLE sample ADD COLUMN cement TEXT COLLATE "C"',
)


def _rebuild(table: str, create: Callable[[str], None], indexes: dict[str, str]) -> None:
    """Make a table anew with the rows it had; SQLite cannot change a constraint in place.

    The new one is renamed, never the old one, so that what refers to the table goes on doing so.
    """
    bind = op.get_bind()
    columns = ", ".join(column["name"] for column in sa.inspect(bind).get_columns(table))
    create(f"new_{table}")
    op.execute(f"INSERT INTO new_{table} ({columns}) SELECT {columns} FROM {table}")
    op.drop_table(table)
    op.rename_table(f"new_{table}", table)
    for name, column in indexes.items():
        op.create_index(f"ix_{table}_{name}", table, [column])


def _append_only(table: str) -> None:
    if op.get_bind().dialect.name == "postgresql":
        for change in ("update", "delete"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change} BEFORE {change.upper()} ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION append_only()"
            )
        return
    body = f"ON {table} BEGIN SELECT RAISE(ABORT, '{table} is append-only: log a correction'); END"
    op.execute(f"CREATE TRIGGER {table}_no_update BEFORE UPDATE {body}")
    op.execute(f"CREATE TRIGGER {table}_no_delete BEFORE DELETE {body}")


def _texts(*names: str, null: bool = False) -> Iterator[Column]:
    yield from (sa.Column(name, sa.Text(), nullable=null) for name in names)


def _wholes(*names: str, null: bool = False, default: str | None = None) -> Iterator[Column]:
    yield from (sa.Column(name, sa.Integer(), nullable=null, server_default=default) for name in names)


def _reals(*names: str, null: bool = True) -> Iterator[Column]:
    kind: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
    yield from (sa.Column(name, kind, nullable=null) for name in names)


def _check(table: str, name: str, condition: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(condition, name=f"ck_{table}_{name}")


def _filled(table: str, column: str) -> sa.CheckConstraint:
    return _check(table, f"{column}_filled", f"{column} <> ''")


def _flag(table: str, column: str) -> sa.CheckConstraint:
    return _check(table, f"{column}_flag", f"{column} IN (0, 1)")


def _within(table: str, column: str, low: int = 0, high: int = 1000000000) -> sa.CheckConstraint:
    return _check(table, f"{column}_within", f"{column} BETWEEN {low} AND {high}")


def _known(table: str, column: str, *words: str) -> sa.CheckConstraint:
    listed = ", ".join(f"'{word}'" for word in words)
    return _check(table, f"{column}_known", f"{column} IN ({listed})")


def _points(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [target], name=f"fk_{table}_{column}")


def _photo() -> None:
    op.create_table(
        "photo",
        *_texts("sha256", "format"),
        *_wholes("width", "height"),
        *_texts("taken", "utc_offset", null=True),
        *_texts("clock"),
        sa.PrimaryKeyConstraint("sha256", name="pk_photo"),
        _points("photo", "sha256", "file.sha256"),
        _known("photo", "format", "JPEG", "PNG", "TIFF", "WebP", "HEIC"),
        _within("photo", "width", 1),
        _within("photo", "height", 1),
        _known("photo", "clock", "camera offset", "site wall time", "told", "unknown"),
        sqlite_strict=True,
    )


def _customer(name: str) -> None:
    op.create_table(
        name,
        *_wholes("id"),
        *_texts("uid"),
        *_wholes("version", default="1"),
        *_texts("name", "name_key"),
        *_texts("phone", "email", "note", null=True),
        *_wholes("leave_alone", default="0"),
        *_wholes("merged_into_id", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_customer"),
        sa.UniqueConstraint("uid", name="uq_customer_uid"),
        _points("customer", "merged_into_id", f"{name}.id"),
        _filled("customer", "name"),
        _flag("customer", "leave_alone"),
        _check("customer", "merged_elsewhere", "merged_into_id <> id"),
        sqlite_strict=True,
    )


def _reading(name: str) -> None:
    colors = (("lightness", 0, 100), ("a", -200, 200), ("b", -200, 200))
    op.create_table(
        name,
        *_wholes("entry_id"),
        *_reals("lightness", "a", "b", null=False),
        *_reals("sd_lightness", "sd_a", "sd_b"),
        *_texts("spot"),
        *_wholes("damp", "sealed", default="0"),
        *_texts("source"),
        *_texts("photo", null=True),
        *_wholes("sample", null=True),
        *_texts("box", null=True),
        sa.PrimaryKeyConstraint("entry_id", name="pk_reading"),
        _points("reading", "entry_id", "entry.id"),
        _points("reading", "photo", "photo.sha256"),
        *(_within("reading", *span) for span in colors),
        *(_within("reading", column) for column in ("sd_lightness", "sd_a", "sd_b")),
        _filled("reading", "spot"),
        _flag("reading", "damp"),
        _flag("reading", "sealed"),
        _within("reading", "sample", 1),
        _filled("reading", "box"),
        sqlite_strict=True,
    )


def _sample_dose() -> None:
    op.create_table(
        "sample_dose",
        *_wholes("entry_id", "position", "product_id"),
        *_reals("percent", null=False),
        sa.PrimaryKeyConstraint("entry_id", "position", name="pk_sample_dose"),
        _points("sample_dose", "entry_id", "sample.entry_id"),
        _points("sample_dose", "product_id", "product.id"),
        _within("sample_dose", "percent", 0, 100),
        sqlite_strict=True,
    )
    op.create_index("ix_sample_dose_product_id", "sample_dose", ["product_id"])


def _stock_move() -> None:
    table = "stock_move"
    op.create_table(
        table,
        *_wholes("id"),
        *_texts("uid"),
        *_wholes("product_id"),
        *_wholes("lot_id", null=True),
        *_texts("what"),
        *_reals("amount"),
        *_texts("unit"),
        *_reals("price_usd"),
        *_texts("happened", "logged"),
        *_wholes("person_id", "job_id", null=True),
        *_texts("note", null=True),
        *_wholes("replaces_id", null=True),
        *_wholes("withdrawn", default="0"),
        sa.PrimaryKeyConstraint("id", name=f"pk_{table}"),
        sa.UniqueConstraint("uid", name=f"uq_{table}_uid"),
        sa.UniqueConstraint("replaces_id", name=f"uq_{table}_replaces_id"),
        *(_points(table, f"{to}_id", f"{to}.id") for to in ("product", "lot", "person", "job")),
        _points(table, "replaces_id", f"{table}.id"),
        _known(table, "what", "bought", "opened", "counted", "reclaimed", "spoiled", "thrown"),
        _within(table, "amount"),
        _known(table, "unit", "lb", "oz", "gal", "fl oz", "kg", "L", "bag"),
        _within(table, "price_usd"),
        _flag(table, "withdrawn"),
        _check(table, "withdrawn_replaces", "withdrawn = 0 OR replaces_id IS NOT NULL"),
        _check(table, "replaces_earlier", "replaces_id < id"),
        sqlite_strict=True,
    )
    for column in ("product_id", "lot_id", "person_id", "job_id"):
        op.create_index(f"ix_{table}_{column}", table, [column])


def _due() -> None:
    op.create_table(
        "due",
        *_wholes("job_id", "position"),
        *_wholes("area_id", null=True),
        *_texts("key"),
        *_wholes("age_days", null=True),
        *_texts("title", "anchor", "opens", "usual_from", "usual_to", "closes", "why"),
        *_texts("caution", null=True),
        *_wholes("span"),
        sa.PrimaryKeyConstraint("job_id", "position", name="pk_due"),
        _points("due", "job_id", "job.id"),
        _points("due", "area_id", "area.id"),
        sqlite_strict=True,
    )
    op.create_index("ix_due_span", "due", ["span", "closes", "opens"])
    op.create_index("ix_due_key", "due", ["key", "span", "closes", "opens"])
