"""An export is written as it is read: the same bytes whatever is read at once, and no more memory for more rows."""

import json
import tracemalloc
from pathlib import Path

import pytest
from sqlalchemy import text

from finishlog.store import Log
from finishlog.store.archive import export

NASTY = ["", "a], [b", "],\n[", ",\n", "\0", "\\u0000", '"', "'=1", "ü\u2028", "\x1f"]


def _bytes(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_bytes_do_not_depend_on_how_much_is_read_at_once(
    log: Log, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    nasty = [said for said in NASTY if said != "\0" or not log.is_on_server]  # a server refuses that one
    with log.writing() as writer:
        for at, said in enumerate(nasty):
            writer.save_draft(f"{at} {said}", said or None)
    found = []
    for at_once in (1, 3, 1000):
        monkeypatch.setattr(export, "ROWS_AT_ONCE", at_once)
        export.dump(log, tmp_path / str(at_once))
        found.append(_bytes(tmp_path / str(at_once)))
    assert found[0] == found[1] == found[2]
    rows = json.loads(found[0]["finishlog.json"])["tables"]["draft"]["rows"]
    assert sorted(row[1] for row in rows) == sorted(nasty[1:])


def test_rows_are_lines_just_as_each_alone() -> None:
    rows = [(said, 1, 2.5, None, -0.0) for said in NASTY]
    each = (json.dumps(row, ensure_ascii=False) for row in rows)
    assert export._lines(list(rows)) == ",\n".join(each)


def test_memory_does_not_grow_with_the_rows(log: Log, tmp_path: Path) -> None:
    with log._connection(write=True) as connection:
        row = {"key": "0", "body": "x" * 500, "saved": "2026-06-16T12:00:00Z"}
        connection.execute(
            text("INSERT INTO draft (key, body, saved) VALUES (:key, :body, :saved)"),
            [row | {"key": f"{at:05}"} for at in range(10_000)],
        )
    export.dump(log, tmp_path / "warm")
    tracemalloc.start()
    export.dump(log, tmp_path / "out")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (tmp_path / "out" / "draft.csv").stat().st_size > 5_000_000
    assert peak < 6_000_000
