"""Samples, approvals, claims, files; change orders, owners, merged customers; bags.

Carries frozen copies of what it needs and never imports the program.
"""

from collections.abc import Callable, Iterator
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

Column = sa.Column[Any]
NEW_APPEND_ONLY = ("sample", "approval", "claim", "file", "entry_file")


def upgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        _remade()
    else:
        _changed()
    op.create_index("ix_customer_merged_into_id", "customer", ["merged_into_id"])
    for create in (_ownership, _sample, _approval, _claim, _file, _entry_file):
        create()
    for table in NEW_APPEND_ONLY:
        _append_only(table)
    if op.get_bind().dialect.name != "sqlite":
        op.execute(PIECES)
        _append_only("file_piece")


def _remade() -> None:
    _rebuild("customer", _customer, {"ix_customer_name_key": "name_key"})
    _rebuild(
        "material_use",
        _material_use,
        {"ix_material_use_lot_id": "lot_id", "ix_material_use_product_id": "product_id"},
    )
    op.execute("ALTER TABLE recipe ADD COLUMN reason TEXT")
    op.execute("ALTER TABLE job ADD COLUMN archived_from TEXT")
    _append_only("material_use")


def _changed() -> None:
    """The same on PostgreSQL, which changes a table in place; there the bytes of files are in the log too."""
    for statement in PLACE:
        op.execute(statement)


PLACE = (
    "ALTER TABLE customer ADD COLUMN merged_into_id BIGINT",
    "ALTER TABLE customer ADD CONSTRAINT fk_customer_merged_into_id FOREIGN KEY (merged_into_id) "
    "REFERENCES customer (id) DEFERRABLE",
    "ALTER TABLE customer ADD CONSTRAINT ck_customer_merged_elsewhere CHECK (merged_into_id <> id)",
    "ALTER TABLE material_use DROP CONSTRAINT ck_material_use_unit_known",
    "ALTER TABLE material_use ADD CONSTRAINT ck_material_use_unit_known "
    "CHECK (unit IN ('lb', 'oz', 'gal', 'fl oz', 'kg', 'L', 'bag'))",
    'ALTER TABLE recipe ADD COLUMN reason TEXT COLLATE "C"',
    'ALTER TABLE job ADD COLUMN archived_from TEXT COLLATE "C"',
)
PIECES = (
    'CREATE TABLE file_piece (sha256 TEXT COLLATE "C" NOT NULL, position BIGINT NOT NULL, bytes BYTEA NOT NULL, '
    "CONSTRAINT pk_file_piece PRIMARY KEY (sha256, position), "
    "CONSTRAINT fk_file_piece_sha256 FOREIGN KEY (sha256) REFERENCES file (sha256) DEFERRABLE INITIALLY DEFERRED)"
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
        op.create_index(name, table, [column])


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


def _reals(*names: str) -> Iterator[Column]:
    kind: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
    yield from (sa.Column(name, kind, nullable=True) for name in names)


def _check(table: str, name: str, condition: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(condition, name=f"ck_{table}_{name}")


def _filled(table: str, column: str) -> sa.CheckConstraint:
    return _check(table, f"{column}_filled", f"{column} <> ''")


def _flag(table: str, column: str) -> sa.CheckConstraint:
    return _check(table, f"{column}_flag", f"{column} IN (0, 1)")


def _customer(name: str) -> None:
    op.create_table(
        name,
        *_wholes("id"),
        *_texts("uid"),
        *_wholes("version", default="1"),
        *_texts("name", "name_key"),
        *_texts("phone", "email", "note", null=True),
        *_wholes("merged_into_id", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_customer"),
        sa.UniqueConstraint("uid", name="uq_customer_uid"),
        sa.ForeignKeyConstraint(["merged_into_id"], [f"{name}.id"], name="fk_customer_merged_into_id"),
        _filled("customer", "name"),
        _check("customer", "merged_elsewhere", "merged_into_id <> id"),
        sqlite_strict=True,
    )


def _material_use(name: str) -> None:
    units = "unit IN ('lb', 'oz', 'gal', 'fl oz', 'kg', 'L', 'bag')"
    op.create_table(
        name,
        *_wholes("entry_id", "position", "product_id"),
        *_wholes("lot_id", null=True),
        *_reals("amount"),
        *_texts("unit"),
        *_wholes("reclaimed", default="0"),
        sa.PrimaryKeyConstraint("entry_id", "position", name="pk_material_use"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_material_use_entry_id"),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name="fk_material_use_lot_id"),
        sa.ForeignKeyConstraint(["product_id"], ["product.id"], name="fk_material_use_product_id"),
        _check("material_use", "amount_within", "amount BETWEEN 0 AND 1000000000"),
        _check("material_use", "unit_known", units),
        _flag("material_use", "reclaimed"),
        sqlite_strict=True,
    )


def _ownership() -> None:
    op.create_table(
        "ownership",
        *_wholes("id"),
        *_texts("uid"),
        *_wholes("version", default="1"),
        *_wholes("site_id", "customer_id"),
        *_texts("since"),
        *_texts("note", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_ownership"),
        sa.UniqueConstraint("uid", name="uq_ownership_uid"),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name="fk_ownership_site_id"),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name="fk_ownership_customer_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_ownership_site_id", "ownership", ["site_id"])
    op.create_index("ix_ownership_customer_id", "ownership", ["customer_id"])


def _sample() -> None:
    op.create_table(
        "sample",
        *_wholes("entry_id", "number"),
        *_wholes("load_id", null=True),
        *_texts("size", "kept_where", null=True),
        *_wholes("half_sealed", null=True),
        sa.PrimaryKeyConstraint("entry_id", name="pk_sample"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_sample_entry_id"),
        sa.ForeignKeyConstraint(["load_id"], ["load.entry_id"], name="fk_sample_load_id"),
        _check("sample", "number_within", "number BETWEEN 1 AND 1000000000"),
        _flag("sample", "half_sealed"),
        sqlite_strict=True,
    )
    op.create_index("ix_sample_number", "sample", ["number"])
    op.create_index("ix_sample_load_id", "sample", ["load_id"])


def _approval() -> None:
    op.create_table(
        "approval",
        *_wholes("entry_id", "sample"),
        *_texts("signed_by"),
        *_wholes("approved", default="1"),
        sa.PrimaryKeyConstraint("entry_id", name="pk_approval"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_approval_entry_id"),
        _check("approval", "sample_within", "sample BETWEEN 1 AND 1000000000"),
        _filled("approval", "signed_by"),
        _flag("approval", "approved"),
        sqlite_strict=True,
    )


def _claim() -> None:
    op.create_table(
        "claim",
        *_wholes("entry_id"),
        *_texts("complaint"),
        *_texts("cause", "action", "outcome", null=True),
        *_wholes("settled", default="0"),
        sa.PrimaryKeyConstraint("entry_id", name="pk_claim"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_claim_entry_id"),
        _filled("claim", "complaint"),
        _flag("claim", "settled"),
        sqlite_strict=True,
    )


def _file() -> None:
    op.create_table(
        "file",
        *_texts("sha256"),
        *_wholes("size"),
        *_texts("media_type", null=True),
        *_texts("added"),
        sa.PrimaryKeyConstraint("sha256", name="pk_file"),
        _check("file", "sha256_whole", "length(sha256) = 64"),
        _check("file", "size_within", "size BETWEEN 1 AND 1073741824"),
        sqlite_strict=True,
    )


def _entry_file() -> None:
    op.create_table(
        "entry_file",
        *_wholes("entry_id", "position"),
        *_texts("sha256", "name"),
        sa.PrimaryKeyConstraint("entry_id", "position", name="pk_entry_file"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_entry_file_entry_id"),
        sa.ForeignKeyConstraint(["sha256"], ["file.sha256"], name="fk_entry_file_sha256"),
        _filled("entry_file", "name"),
        sqlite_strict=True,
    )
    op.create_index("ix_entry_file_sha256", "entry_file", ["sha256"])
