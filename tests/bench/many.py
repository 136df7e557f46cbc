"""Jobs by the hundred thousand in a log on a server, the same for the same seed:

    python tests/bench/many.py FILE ADDRESS [TIMES]

FILE is a log of `tests/bench/big.py`; ADDRESS a database without a log, of a user who may set aside its triggers (a
superuser). The rows are copied as they are, with their projections and hashes; the words of the search are made by
the log's own triggers. With TIMES the server then makes that many of every job, under ids, names and numbers of
their own; their hashes are those of the first, so that they take their room, and `check` would say so. Last it
prints what each table and index takes.
"""

from __future__ import annotations

import sqlite3
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg

sys.path.insert(0, str(Path(__file__).parent))

import copies

from finishlog.store import Log
from finishlog.store.engine.ddl import MAPPED
from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import parsed
from finishlog.store.schema.base import Base
from finishlog.store.schema.tables_seal import MARKED
from finishlog.store.schema.tables_view import TEXT_COLUMNS
from finishlog.store.sealing.form import VIEW_NUMBER

AT_ONCE = 20_000
"""Jobs whose words are made by one statement."""
Raw = psycopg.Connection[Any]
_SIZES = """
    SELECT c.relname, c.relkind, pg_total_relation_size(c.oid), pg_relation_size(c.oid), c.reltuples
    FROM pg_class AS c WHERE c.relnamespace = 'finishlog'::regnamespace AND c.relkind IN ('r', 'i') ORDER BY 4 DESC
"""


def fill(file: Path, address: str) -> None:
    """Make a log at an address that holds all rows of a file's."""
    Log.create(address, clock=lambda: datetime.now(UTC), new_uid=lambda: "none").close()
    assert MAPPED  # loaded
    names = [table.name for table in Base.metadata.sorted_tables]
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as held, _connected(address) as raw:
        with raw.transaction(), past_triggers(raw):
            raw.execute(f"TRUNCATE {', '.join(names)} CASCADE")
            for table in Base.metadata.sorted_tables:
                _copy(held, raw, table.name, table.name, [column.name for column in table.columns])
        with raw.transaction():
            _copy(
                held, raw, "(SELECT rowid AS job_id, * FROM job_text)", "job_text", ["job_id", *TEXT_COLUMNS]
            )
        raw.execute("VACUUM (ANALYZE)")


def _connected(address: str) -> Raw:
    found: Raw = server.connect(parsed(address))
    return found


@contextmanager
def past_triggers(raw: Raw) -> Iterator[None]:
    """Rows as they are: no keys looked up, nothing noted as unsealed."""
    raw.execute("SET LOCAL session_replication_role = replica")
    yield
    raw.execute("SET LOCAL session_replication_role = origin")


def _copy(held: sqlite3.Connection, raw: Raw, source: str, target: str, columns: list[str]) -> None:
    listed = ", ".join(f'"{column}"' for column in columns)
    with raw.cursor() as cursor, cursor.copy(f"COPY {target} ({listed}) FROM STDIN") as into:
        for row in held.execute(f"SELECT {listed} FROM {source}"):
            into.write_row(row)


def multiply(address: str, times: int) -> None:
    """Make every job so many times, in as many transactions as there are copies."""
    with _connected(address) as raw:
        first = {name: _highest(raw, name) for name in {*copies.IDS.values(), "buried", "lot", "stock_move"}}
        samples = int(raw.execute("SELECT coalesce(max(number), 0) FROM sample").fetchone()[0])  # type: ignore[index]
        for number in range(1, times):
            began = time.perf_counter()
            with raw.transaction():
                with past_triggers(raw):
                    for name in copies.TABLES:
                        _again(raw, name, first, number, samples)
                    _seals_again(raw, first, number)
                _texts_again(raw, first["job"], number)
            print(f"copy {number}: {time.perf_counter() - began:.0f} s", flush=True)
        raw.execute("VACUUM (ANALYZE)")


def _highest(raw: Raw, name: str) -> int:
    row = raw.execute(f"SELECT coalesce(max(id), 0) FROM {name}").fetchone()
    assert row is not None
    return int(row[0])


def _again(raw: Raw, name: str, ids: dict[str, int], number: int, samples: int) -> None:
    columns = [column.name for column in Base.metadata.tables[name].columns]
    # the same rule as in a file, under other names: the log may be of copies already
    made = ", ".join(copies.made(name, columns, ids, number, samples))
    made = made.replace(f"printf('k%02x', {number}) || substr(uid, 4)", f"md5(uid || '{number}')")
    made = made.replace("'-c", "'-m")
    key = next(column for column in copies.KEYS if column in columns)
    listed, most = ", ".join(f'"{column}"' for column in columns), ids[copies.IDS.get(key, name)]
    raw.execute(
        f"INSERT INTO {name} ({listed}) SELECT {made} FROM {name} WHERE {key} <= {most} ORDER BY {key}"
    )


def _seals_again(raw: Raw, ids: dict[str, int], number: int) -> None:
    """The hashes of what is copied, and of what is kept of each job, under the ids of the copies."""
    kinds = {MARKED[name][0]: most for name, most in ids.items() if name in MARKED} | {
        VIEW_NUMBER: ids["job"]
    }
    for what, most in kinds.items():
        raw.execute(
            f"INSERT INTO seal (what, row_id, hash) SELECT what, row_id + {number * most}, hash FROM seal "
            f"WHERE what = {what} AND row_id BETWEEN 1 AND {most}"
        )
    most = ids["entry"]
    raw.execute(
        f"INSERT INTO chain (entry_id, hash) SELECT entry_id + {number * most}, hash FROM chain "
        f"WHERE entry_id <= {most}"
    )


def _texts_again(raw: Raw, jobs: int, number: int) -> None:
    texts = ", ".join(TEXT_COLUMNS)
    said = texts.replace("who", f"who || ' c{number}'")
    for start in range(0, jobs, AT_ONCE):
        raw.execute(
            f"INSERT INTO job_text (job_id, {texts}) SELECT job_id + {number * jobs}, {said} FROM job_text "
            f"WHERE job_id > {start} AND job_id <= {min(start + AT_ONCE, jobs)}"
        )


def sizes(address: str) -> Iterator[str]:
    """A line for each table and index, the largest first, and what all takes together."""
    with _connected(address) as raw:
        jobs = _highest(raw, "job")
        found = raw.execute(_SIZES).fetchall()
        whole = sum(row[2] for row in found if row[1] == "r")
        yield f"{jobs} jobs, {whole / 1e9:.1f} GB, {whole / 1e3 / jobs:.1f} kB a job"
        for name, kind, _, own, rows in found:
            if own > whole / 200:
                what = "index" if kind == "i" else "table"
                yield f"{what} {name}: {own / 1e3 / jobs:.2f} kB a job, {rows / jobs:.1f} rows"


if __name__ == "__main__":
    began = time.perf_counter()
    fill(Path(sys.argv[1]), sys.argv[2])
    print(f"filled in {time.perf_counter() - began:.0f} s", flush=True)
    if len(sys.argv) > 3:
        multiply(sys.argv[2], int(sys.argv[3]))
    print(*sizes(sys.argv[2]), f"{time.perf_counter() - began:.0f} s in all", sep="\n")
