"""A log knows itself: its identity, a chained hash per entry, a hash per other row.

What was there before gets its hashes here, as it stands. Carries frozen copies of what it needs and never
imports the program.
"""

import json
import uuid
from collections.abc import Iterator, Sequence
from hashlib import blake2b
from itertools import groupby
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

Rows = list[Any]
AT_ONCE = 2000
TOKENS = (
    'CREATE TABLE write_token (token TEXT COLLATE "C" NOT NULL, left_at TIMESTAMPTZ NOT NULL DEFAULT now(), '
    "CONSTRAINT pk_write_token PRIMARY KEY (token))"
)
ENTRY = (
    *("id", "uid", "job_id", "number", "area_id", "kind", "happened", "logged", "exactness", "person_id"),
    *("note", "replaces_id", "withdrawn", "facts", "facts_version"),
)
DETAILS: dict[str, tuple[str, ...]] = {
    "load": (
        *("yards", "returned_yd3", "dumped_yd3", "ticket", "mix_id", "water_gal", "water_when"),
        *("slump_in", "slump_end_in", "is_balance"),
    ),
    "load_area": ("area_id", "yards"),
    "material_use": ("position", "product_id", "lot_id", "amount", "unit", "reclaimed"),
    "coat": ("number", "reseal", "area_ft2", "slab_f", "air_f", "humidity_percent"),
    "reading": (
        *("lightness", "a", "b", "sd_lightness", "sd_a", "sd_b", "spot", "damp", "sealed", "source"),
        *("photo", "sample", "box"),
    ),
    "sample": ("number", "load_id", "size", "kept_where", "half_sealed", "cement"),
    "sample_dose": ("position", "product_id", "percent"),
    "approval": ("sample", "signed_by", "approved"),
    "claim": ("complaint", "cause", "action", "outcome", "settled"),
}
NAMED = ("id", "uid", "version", "name", "name_key")
PLAIN: dict[str, tuple[int, tuple[str, ...]]] = {
    "person": (1, NAMED),
    "plant": (2, NAMED),
    "maker": (3, NAMED),
    "customer": (4, (*NAMED, "phone", "email", "note", "leave_alone", "merged_into_id")),
    "site": (
        5,
        ("id", "uid", "version", "street", "street_key", "town", "town_key", "zone", "exposure", "map_note"),
    ),
    "ownership": (6, ("id", "uid", "version", "site_id", "customer_id", "since", "note")),
    "buried": (7, ("id", "uid", "version", "site_id", "what", "place", "depth_in")),
    "product": (
        8,
        (
            *("id", "uid", "version", "maker_id", "name", "name_key", "kind", "form", "chemistry"),
            *("solids_percent", "max_percent_of_cement", "pack_lb", "safety"),
        ),
    ),
    "lot": (9, ("id", "uid", "version", "product_id", "code", "code_key")),
    "mix": (
        10,
        (
            *("id", "uid", "version", "plant_id", "number", "cement_kind", "cement_mill"),
            *("cement_lb_per_yd3", "scm_kind", "scm_lb_per_yd3", "admixtures", "sand", "valid_from"),
            "valid_to",
        ),
    ),
    "job": (
        11,
        (
            *("id", "uid", "version", "handle", "name", "name_key", "customer_id", "site_id", "reference_id"),
            *("state", "planned_on", "note", "logged", "archived_from"),
        ),
    ),
    "recipe": (12, (*NAMED, "from_id", "frozen", "reason")),
    "area": (
        13,
        (
            *("id", "uid", "version", "job_id", "position", "name", "name_key", "kind", "exposure"),
            *("area_ft2", "depth_in", "edge_yd3", "recipe_id"),
        ),
    ),
    "advice": (14, ("id", "uid", "job_id", "kind", "method", "inputs", "answer", "given")),
    "stock_move": (
        15,
        (
            *("id", "uid", "product_id", "lot_id", "what", "amount", "unit", "price_usd", "happened"),
            *("logged", "person_id", "job_id", "note", "replaces_id", "withdrawn"),
        ),
    ),
}
STAGE = ("recipe_id", "id", "position", "kind", "params", "params_version")
SHAPE = ("area_id", "position", "sign", "kind", "dimensions", "depth_in")
WHOLE: dict[str, tuple[int, tuple[str, ...]]] = {
    "setting": (16, ("key", "value", "changed")),
    "draft": (17, ("key", "body", "saved")),
}
PHOTO = ("sha256", "format", "width", "height", "taken", "utc_offset", "clock")
PHOTO_NUMBER = 19


def upgrade() -> None:
    _tables()
    bind = op.get_bind()
    identity = uuid.uuid4().hex
    count, head = 0, ""
    for entry, content in _entries(bind):
        head = digest(head, content)
        count += 1
        _run(bind, "INSERT INTO chain (entry_id, hash) VALUES (?, ?)", entry, head)
    for what, row, content in _others(bind):
        _run(bind, "INSERT INTO seal (what, row_id, hash) VALUES (?, ?, ?)", what, row, digest("", content))
    proof = digest("", [identity, 0, count, head])
    state = "INSERT INTO log_state (id, uid, writes, entries, proof) VALUES (1, ?, 0, ?, ?)"
    _run(bind, state, identity, count, proof)
    if bind.dialect.name == "sqlite":
        _triggers()
    else:
        _functions()
        op.execute(TOKENS)


def _run(bind: sa.Connection, statement: str, *values: Any) -> sa.CursorResult[Any]:
    """A statement with `?`, whatever the driver's own mark is."""
    mark = "?" if bind.dialect.name == "sqlite" else "%s"
    return bind.exec_driver_sql(statement.replace("?", mark), values)


def digest(before: str, content: Rows) -> str:
    text = json.dumps(content, separators=(",", ":"), default=repr)
    return blake2b((before + text).encode("ascii"), digest_size=16).hexdigest()


def _tables() -> None:
    op.create_table(
        "log_state",
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ("id", "writes", "entries")),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("uid", "proof")),
        sa.PrimaryKeyConstraint("id", name="pk_log_state"),
        sa.CheckConstraint("id BETWEEN 1 AND 1", name="ck_log_state_id_within"),
        sqlite_strict=True,
    )
    op.create_table(
        "chain",
        sa.Column("entry_id", sa.Integer(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("entry_id", name="pk_chain"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_chain_entry_id"),
        sqlite_strict=True,
    )
    op.create_table(
        "seal",
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ("what", "row_id")),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("what", "row_id", name="pk_seal"),
        sqlite_strict=True,
        sqlite_with_rowid=False,
    )
    op.create_table(
        "unsealed",
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ("id", "what", "row_id")),
        sa.PrimaryKeyConstraint("id", name="pk_unsealed"),
        sqlite_strict=True,
    )


def _triggers() -> None:
    for table, (what, _) in PLAIN.items():
        _marks(table, what, "{row}.id", "INSERT", "UPDATE")
    _marks("stage", 12, "{row}.recipe_id", "INSERT", "UPDATE", "DELETE")
    of_stage = "(SELECT recipe_id FROM stage WHERE id = {row}.stage_id)"
    _marks("stage_material", 12, of_stage, "INSERT", "UPDATE", "DELETE")
    _marks("shape", 13, "{row}.area_id", "INSERT", "UPDATE", "DELETE")
    for table, (what, _) in WHOLE.items():
        _marks(table, what, "0", "INSERT", "UPDATE", "DELETE")
    body = "ON chain BEGIN SELECT RAISE(ABORT, 'chain is append-only: log a correction'); END"
    op.execute(f"CREATE TRIGGER chain_no_update BEFORE UPDATE {body}")
    op.execute(f"CREATE TRIGGER chain_no_delete BEFORE DELETE {body}")


def _functions() -> None:
    """The same triggers on PostgreSQL, where each calls a function."""
    one = ("INSERT", "UPDATE")
    for table, (what, _) in PLAIN.items():
        _calls(table, what, "{row}.id", *one)
    _calls("stage", 12, "{row}.recipe_id", *one, "DELETE")
    of_stage = "(SELECT recipe_id FROM stage WHERE id = {row}.stage_id)"
    _calls("stage_material", 12, of_stage, *one, "DELETE")
    _calls("shape", 13, "{row}.area_id", *one, "DELETE")
    for table, (what, _) in WHOLE.items():
        _calls(table, what, "0", *one, "DELETE")
    for change in ("update", "delete"):
        op.execute(
            f"CREATE TRIGGER chain_no_{change} BEFORE {change.upper()} ON chain "
            "FOR EACH ROW EXECUTE FUNCTION append_only()"
        )


def _calls(table: str, what: int, row: str, *when: str) -> None:
    for change in when:
        name = f"{table}_unseals_{change.lower()}"
        row_id = row.format(row="OLD" if change == "DELETE" else "NEW")
        op.execute(
            f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ "
            f"BEGIN INSERT INTO unsealed (what, row_id) VALUES ({what}, {row_id}); RETURN NULL; END $$"
        )
        op.execute(f"CREATE TRIGGER {name} AFTER {change} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()")


def _marks(table: str, what: int, row: str, *when: str) -> None:
    for change in when:
        row_id = row.format(row="OLD" if change == "DELETE" else "NEW")
        op.execute(
            f"CREATE TRIGGER {table}_unseals_{change.lower()} AFTER {change} ON {table} "
            f"BEGIN INSERT INTO unsealed (what, row_id) VALUES ({what}, {row_id}); END"
        )


def known(row: Sequence[Any]) -> Rows:
    found = list(row)
    while found and found[-1] is None:
        del found[-1]
    return found


def _entries(bind: sa.Connection) -> Iterator[tuple[int, Rows]]:
    last = -(2**62)
    query = f"SELECT {', '.join(ENTRY)} FROM entry WHERE id > ? ORDER BY id LIMIT {AT_ONCE}"
    while rows := _run(bind, query, last).fetchall():
        first, last = rows[0][0], rows[-1][0]
        details: dict[int, Rows] = {}
        for name, found in _details(bind, first, last):
            for entry, some in groupby(found, key=lambda row: row[0]):
                details.setdefault(entry, []).append([name, [known(row[1:]) for row in some]])
        for row in rows:
            yield row[0], [*known(row), *details.get(row[0], ())]


def _details(bind: sa.Connection, first: int, last: int) -> Iterator[tuple[str, Sequence[Any]]]:
    for name, columns in DETAILS.items():
        query = (
            f"SELECT entry_id, {', '.join(columns)} FROM {name} WHERE entry_id BETWEEN ? AND ? "
            f"ORDER BY entry_id, {columns[0]}"
        )
        yield name, _run(bind, query, first, last).fetchall()
    query = (
        "SELECT n.entry_id, n.position, n.sha256, n.name, f.size, f.media_type, f.added FROM entry_file AS n "
        "LEFT JOIN file AS f ON f.sha256 = n.sha256 WHERE n.entry_id BETWEEN ? AND ? "
        "ORDER BY n.entry_id, n.position"
    )
    yield "entry_file", _run(bind, query, first, last).fetchall()


def _others(bind: sa.Connection) -> Iterator[tuple[int, int, Rows]]:
    stages, shapes = _stages(bind), _by_first(bind, "shape", SHAPE)
    for table, (what, columns) in PLAIN.items():
        further = {"recipe": stages, "area": shapes}.get(table, {})
        for row in bind.exec_driver_sql(f"SELECT {', '.join(columns)} FROM {table} ORDER BY id").fetchall():
            yield what, row[0], [*known(row), *further.get(row[0], ())]
    for table, (what, columns) in WHOLE.items():
        rows = bind.exec_driver_sql(f"SELECT {', '.join(columns)} FROM {table} ORDER BY key").fetchall()
        yield what, 0, [known(row) for row in rows]
    for row in bind.exec_driver_sql(f"SELECT {', '.join(PHOTO)} FROM photo ORDER BY sha256").fetchall():
        yield PHOTO_NUMBER, int(row[0][:15], 16), known(row)


def _by_first(bind: sa.Connection, table: str, columns: tuple[str, ...]) -> dict[int, Rows]:
    query = f"SELECT {', '.join(columns)} FROM {table} ORDER BY {columns[0]}, {columns[1]}"
    found: dict[int, Rows] = {}
    for row in bind.exec_driver_sql(query).fetchall():
        found.setdefault(row[0], []).append(known(row[1:]))
    return found


def _stages(bind: sa.Connection) -> dict[int, Rows]:
    """By recipe: each stage, its materials after it."""
    materials = _by_first(
        bind, "stage_material", ("stage_id", "position", "product_id", "lot_id", "rate", "unit")
    )
    found: dict[int, Rows] = {}
    query = f"SELECT {', '.join(STAGE)} FROM stage ORDER BY recipe_id, id"
    for row in bind.exec_driver_sql(query).fetchall():
        found.setdefault(row[0], []).append([*known(row[1:]), *materials.get(row[1], ())])
    return found
