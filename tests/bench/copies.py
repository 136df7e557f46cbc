"""The jobs of a made log once more, with ids, names and numbers of their own; their projections come along.

Lots are bought once more too, but the copied jobs used those of the first.
"""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy.engine import Connection

from finishlog.store.schema.tables_view import TEXT_COLUMNS

TABLES = (
    *("customer", "site", "buried", "job", "recipe", "stage", "stage_material", "area", "shape", "entry"),
    *("load", "load_area", "material_use", "coat", "reading", "sample", "approval", "claim", "entry_file"),
    *("job_line", "job_facet", "due", "care", "lot", "stock_move"),
)
"""What belongs to a job or the shelf, in the order of its foreign keys; the shop's other tables are shared."""
IDS = {
    **{f"{name}_id": name for name in ("customer", "site", "job", "recipe", "stage", "area", "entry")},
    "from_id": "recipe",
    "replaces_id": "entry",
    "load_id": "entry",
    "reference_id": "job",
    "merged_into_id": "customer",
}
KEYS = ("id", "entry_id", "stage_id", "job_id", "area_id")
"""The first of these that a table has tells to which copy a row belongs."""


def copy(connection: Connection, number: int) -> None:
    """Add the copy of that number, from 1, to a log that holds the jobs and all copies before."""
    ids = {
        name: _highest(connection, name) // number for name in {*IDS.values(), "buried", "lot", "stock_move"}
    }
    samples = (connection.exec_driver_sql("SELECT max(number) FROM sample").scalar() or 0) // number
    for name in TABLES:
        columns = [row[1] for row in connection.exec_driver_sql(f"PRAGMA table_info({name})")]
        values = ", ".join(made(name, columns, ids, number, samples))
        key = next(column for column in KEYS if column in columns)
        listed, most = ", ".join(f'"{column}"' for column in columns), ids[IDS.get(key, name)]
        connection.exec_driver_sql(
            f"INSERT INTO {name} ({listed}) SELECT {values} FROM {name} WHERE {key} <= {most} ORDER BY {key}"
        )
    texts = ", ".join(TEXT_COLUMNS)
    said = texts.replace("who", f"who || ' c{number}'")
    connection.exec_driver_sql(
        f"INSERT INTO job_text (rowid, {texts}) SELECT rowid + {number * ids['job']}, {said} FROM job_text "
        f"WHERE rowid <= {ids['job']} ORDER BY rowid"
    )


def _highest(connection: Connection, name: str) -> int:
    return int(connection.exec_driver_sql(f"SELECT max(id) FROM {name}").scalar() or 0)


def made(name: str, columns: list[str], ids: dict[str, int], number: int, samples: int) -> Iterator[str]:
    """The columns of a copied row."""
    for column in columns:
        if (name, column) == ("stock_move", "lot_id"):
            yield f"lot_id + {number * ids['lot']}"
        elif column == "id" or column in IDS:
            yield f"{column} + {number * ids[IDS.get(column, name)]}"
        elif column == "uid":
            yield f"printf('k%02x', {number}) || substr(uid, 4)"  # no other begins with that letter
        elif column in ("handle", "code", "code_key"):
            yield f"{column} || '-c{number}'"
        elif (name, column) in {("sample", "number"), ("approval", "sample")}:
            yield f"{column} + {number * samples}"
        else:
            yield f'"{column}"'
