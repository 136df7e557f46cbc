"""What stands on sound pages of a damaged log comes home, and what is gone is named."""

import random
import shutil
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from datetime import UTC, datetime
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest

from finishlog.errors import LogError
from finishlog.store import Log
from finishlog.store.archive.rescue import Rescued, rescue
from finishlog.store.engine.salvage.pages import DamagedError, Pages
from tests.conftest import Ran

NOW = datetime(2026, 6, 16, 12, tzinfo=UTC)
COMPUTED = (
    *("job_line", "job_facet", "job_text", "job_word", "due", "care", "shelf", "learned", "alembic"),
    *("log_state", "chain", "seal", "unsealed"),
)
SIZE = 4096
Row = tuple[Any, ...]


def tables(raw: sqlite3.Connection) -> Iterator[str]:
    query = "SELECT name FROM sqlite_schema WHERE type = 'table' AND rootpage > 0 ORDER BY rootpage"
    for (name,) in raw.execute(query).fetchall():
        if not name.startswith(COMPUTED):
            yield name


def rows_of(where: Path) -> dict[str, dict[int, Row]]:
    """Every row by table and rowid, as SQLite itself reads it."""
    with closing(sqlite3.connect(where)) as raw:
        return {
            name: {row[0]: row[1:] for row in raw.execute(f'SELECT rowid, * FROM "{name}"')}
            for name in tables(raw)
        }


@cache
def places(where: Path) -> Mapping[str, Mapping[int, list[int]]]:
    """The rowids on each leaf page of each table, as SQLite's own `dbstat` knows the pages."""
    pages = Pages(where)
    with closing(sqlite3.connect(where)) as raw:
        return {
            name: {
                number: [rowid for rowid, _ in pages.records(number)]
                for (number,) in raw.execute(
                    "SELECT pageno FROM dbstat WHERE name = ? AND pagetype = 'leaf'", (name,)
                )
            }
            for name in tables(raw)
        }


def overflowing(where: Path) -> bool:
    with closing(sqlite3.connect(where)) as raw:
        marks = ", ".join(f"'{name}'" for name in tables(raw))
        return bool(
            raw.execute(
                f"SELECT count(*) FROM dbstat WHERE pagetype = 'overflow' AND name IN ({marks})"
            ).fetchone()[0]
        )


def damaged(made_demo: Path, tmp_path: Path, pages: set[int], with_: Callable[[], bytes]) -> Path:
    where = tmp_path / "damaged.finishlog"
    shutil.copy(made_demo, where)
    if not Path(f"{where}.files").exists():
        shutil.copytree(f"{made_demo}.files", f"{where}.files")
    with where.open("r+b") as file:
        for page in pages:
            file.seek((page - 1) * SIZE)
            file.write(with_())
    return where


def rescued(
    made_demo: Path, tmp_path: Path, pages: set[int], with_: Callable[[], bytes]
) -> tuple[Rescued, float]:
    """Everything on pages not among these is in the new log, unchanged but for what it named; the share of it."""
    where, new = damaged(made_demo, tmp_path, pages, with_), tmp_path / "new.finishlog"
    done = rescue(where, new, clock=lambda: NOW)
    before, after = rows_of(made_demo), {name: set(rows.values()) for name, rows in rows_of(new).items()}
    sound = home = 0
    for name, leaves in places(made_demo).items():
        for page, rowids in leaves.items():
            if page not in pages:
                sound += len(rowids)
                home += sum(_is_home(before[name][rowid], after[name]) for rowid in rowids)
    _require_whole(new, done)
    return done, home / sound


def _is_home(row: Row, there: set[Row]) -> bool:
    """As it was; or but for what it named, where that is gone and may be unknown."""
    if row in there:
        return True
    return any(
        len(row) == len(other) and all(a == b or b is None for a, b in zip(row, other, strict=True))
        for other in there
        if other[:2] == row[:2]
    )


def _require_whole(new: Path, done: Rescued) -> None:
    log = Log.open(new, clock=lambda: NOW, new_uid=lambda: "x")
    lost = [line for line in log.check().problems if "is not there" not in line]
    assert lost == []
    assert done.problems == ()
    with log.reading() as reader:
        for line in reader.lines():
            assert reader.job(line.handle).handle == line.handle
    log.close()
    assert sorted(path.name for path in new.parent.glob(".*")) == []


def zeros() -> bytes:
    return b"\0" * SIZE


def test_of_a_sound_log_all_comes_home(made_demo: Path, tmp_path: Path) -> None:
    assert not overflowing(made_demo)  # else the pages of a row are more than its leaf
    done, share = rescued(made_demo, tmp_path, set(), zeros)
    assert (done.gone, share) == ((), 1.0)
    assert rows_of(tmp_path / "new.finishlog") == rows_of(made_demo)
    new = Log.open(tmp_path / "new.finishlog", clock=lambda: NOW, new_uid=lambda: "x")
    assert new.check().problems == ()
    new.close()


@pytest.mark.parametrize("start", [2, *(pytest.param(n, marks=pytest.mark.long) for n in (1, *range(3, 11)))])
def test_every_tenth_page_zeroed(made_demo: Path, tmp_path: Path, start: int) -> None:
    pages = set(range(start, made_demo.stat().st_size // SIZE + 1, 10))
    done, share = rescued(made_demo, tmp_path, pages, zeros)
    assert share == 1.0
    assert any("cannot be read" in line for line in done.gone)


def _trees(where: Path) -> dict[str, set[int]]:
    with closing(sqlite3.connect(where)) as raw:
        query = "SELECT rootpage FROM sqlite_schema WHERE name = ?"
        roots = {name: raw.execute(query, (name,)).fetchone()[0] for name in tables(raw)}
    return {name: {root, *(min(places(where)[name], default=root),)} for name, root in roots.items()}


@pytest.mark.parametrize(
    ("table", "noise"), [("load", True), pytest.param("entry", False, marks=pytest.mark.long)]
)
def test_a_table_s_pages_damaged(made_demo: Path, tmp_path: Path, table: str, noise: bool) -> None:
    """The page its tree begins on, and its first leaf."""
    _damaged_in_turn(made_demo, tmp_path, table, noise)


@pytest.mark.long
def test_each_table_s_pages_damaged_in_turn(made_demo: Path, tmp_path: Path) -> None:
    for number, table in enumerate(_trees(made_demo)):
        (tmp_path / str(number)).mkdir()
        _damaged_in_turn(made_demo, tmp_path / str(number), table, noise=number % 2 == 0)


def _damaged_in_turn(made_demo: Path, tmp_path: Path, table: str, noise: bool) -> None:
    for page in _trees(made_demo)[table]:
        seed = random.Random(page)
        folder = tmp_path / str(page)
        folder.mkdir()
        _, share = rescued(made_demo, folder, {page}, partial(seed.randbytes, SIZE) if noise else zeros)
        assert share == 1.0, (table, page)


def test_one_page_of_loads_leaves_every_job(made_demo: Path, tmp_path: Path) -> None:
    """What is gone is said by job and number."""
    leaf = min(places(made_demo)["load"])
    done, _ = rescued(made_demo, tmp_path, {leaf}, zeros)
    before = rows_of(made_demo)
    assert (done.jobs, done.entries) == (len(before["job"]), len(before["entry"]))
    assert [line for line in done.gone if "facts of the loads" in line]


def test_a_job_whose_row_is_gone_comes_home_by_what_the_list_says(made_demo: Path, tmp_path: Path) -> None:
    leaf = min(places(made_demo)["job"])
    handles = {rows_of(made_demo)["job"][rowid][3] for rowid in places(made_demo)["job"][leaf]}
    assert handles
    done, _ = rescued(made_demo, tmp_path, {leaf}, zeros)
    assert handles <= {row[3] for row in rows_of(tmp_path / "new.finishlog")["job"].values()}
    assert {line.split()[1].rstrip(":") for line in done.gone if "own record is gone" in line} == handles


def test_photos_come_home_where_only_their_rows_are_gone(made_demo: Path, tmp_path: Path) -> None:
    leaf = min(places(made_demo)["file"])
    done, _ = rescued(made_demo, tmp_path, {leaf}, zeros)
    assert done.files == len(rows_of(made_demo)["file"])


def test_photos_whose_entries_are_gone_can_still_be_looked_at(made_demo: Path, tmp_path: Path) -> None:
    """All of them: what no entry names any more stands under the job of all that is not told."""
    done, _ = rescued(made_demo, tmp_path, set(places(made_demo)["entry_file"]), zeros)
    with closing(sqlite3.connect(tmp_path / "new.finishlog")) as raw:
        query = (
            "SELECT job.name, count(*) FROM entry_file JOIN entry ON entry.id = entry_id "
            "JOIN job ON job.id = job_id"
        )
        assert raw.execute(query).fetchone() == ("Rescued facts", done.files)
    assert done.files == len(rows_of(made_demo)["file"])


def test_a_rescued_log_is_one_of_its_own(made_demo: Path, tmp_path: Path) -> None:
    """No mark of the damaged log, which had more, speaks of it."""
    rescued(made_demo, tmp_path, set(), zeros)
    old, new = (
        Log.open(where, clock=lambda: NOW, new_uid=lambda: "x")
        for where in (made_demo, tmp_path / "new.finishlog")
    )
    assert old.identity() != new.identity()
    old.close()
    new.close()


def test_what_was_still_in_the_write_ahead_log_comes_home(made_demo: Path, tmp_path: Path) -> None:
    where = damaged(made_demo, tmp_path, set(), zeros)
    with closing(sqlite3.connect(where)) as raw:
        raw.execute("PRAGMA wal_autocheckpoint=0")
        raw.execute("INSERT INTO setting VALUES ('a word', '181', '2026-06-16T12:00:00.000000Z')")
        raw.commit()
        for end in ("", "-wal"):
            shutil.copy(f"{where}{end}", f"{tmp_path / 'killed'}{end}")
    done = rescue(tmp_path / "killed", tmp_path / "new.finishlog", clock=lambda: NOW)
    assert done.problems == ()
    assert "181" in {row[1] for row in rows_of(tmp_path / "new.finishlog")["setting"].values()}


@pytest.mark.parametrize("content", [b"", b"no log at all" * 1000])
def test_nothing_of_a_log(tmp_path: Path, content: bytes) -> None:
    where = tmp_path / "odd"
    where.write_bytes(content)
    with pytest.raises(LogError, match="Nothing of a log"):
        rescue(where, tmp_path / "new.finishlog", clock=lambda: NOW)
    assert [path.name for path in tmp_path.iterdir()] == ["odd"]


def test_a_page_that_is_noise_raises_nothing_else(tmp_path: Path) -> None:
    seed = random.Random(7)
    where = tmp_path / "noise"
    where.write_bytes(b"".join(bytes([0x0D]) + seed.randbytes(SIZE - 1) for _ in range(200)))
    pages = Pages(where)
    for number in range(1, 201):
        assert len(list(pages.rows(number))) < SIZE
        assert len(list(pages.keys(number))) < SIZE
    with pytest.raises(DamagedError):
        pages.page(300)


def test_the_command(finishlog: Callable[..., Ran], made_demo: Path, tmp_path: Path) -> None:
    """A damaged log names the command, and the command says what is gone."""
    leaf = min(places(made_demo)["load"])
    where = damaged(made_demo, tmp_path, {leaf}, lambda: b"\x55" * SIZE)
    refused = finishlog("--log", str(where), "backup", str(tmp_path / "copy"))
    assert refused.status == 3
    assert f"finishlog rescue {where} NEW" in refused.err
    ran = finishlog("rescue", str(where), str(tmp_path / "new.finishlog"))
    assert (ran.status, "What is gone:" in ran.out) == (0, True)
    again = finishlog("rescue", str(where), str(tmp_path / "new.finishlog"))
    assert (again.status, "already exists" in again.err) == (3, True)
