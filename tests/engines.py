"""On which engine the tests of the store and of the desks keep their logs: on both.

`pytest_generate_tests` of `tests/store` and `tests/desk` asks `of`; a test's `engine_name` says which turn it is.
What holds of files alone stands in FILES_ONLY, with why. What the default run leaves to `pytest -m long` on
PostgreSQL stands in SELDOM; a desk's tests run there by default where they are in DAILY, which has each desk that
writes. FINISHLOG_TEST_ENGINES=sqlite or =postgres runs one of them.

The tests of the desks make their logs at paths. On the turn of PostgreSQL the file there is a stand-in: it holds
the address of a database, and whoever opens or copies that file has the log in the database, or a copy of it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from finishlog.store import Log
from finishlog.store.engine.postgres.address import Address
from tests import pg

HERE = Path(__file__).parent
ENGINES = os.environ.get("FINISHLOG_TEST_ENGINES", "sqlite,postgres").split(",")
FILES_ONLY = {
    "desk/color/test_kept.py": "looks into the file for what was learned",
    "desk/color/test_kept_walk.py": "as above",
    "desk/demo/test_demo.py": "one log for all, made in a file",
    "desk/due/test_book_kept.py::test_an_archive_comes_back_with_its_book": "brings back a file",
    "desk/due/test_care_list.py": "a file is copied for each",
    "desk/exchange/test_back.py": "brings back files",
    "desk/exchange/test_entries.py": "brings back files",
    "desk/jobs/test_find_page.py": "the demo's file",
    "desk/match/test_gate.py": "a file is copied for each",
    "desk/match/test_gate_kept.py": "looks into the file for what was learned",
    "desk/match/test_kept.py": "the demo's file",
    "desk/photo/test_photos.py": "a file is copied for each",
    "desk/test_job_by_job.py": "counts the statements of a file",
    "desk/test_words.py::test_a_job_and_its_color_are_of_one_age": "the demo's file",
    "store/engine/test_killed_writers.py": "kills writers of a file",
    "store/engine/test_sharing.py": "locks of a file; a server's are in test_postgres.py",
    "store/engine/test_turns.py": "the queue beside a file",
    "store/sealing/test_marks.py": "an older file is put in a log's place",
    "store/test_color_and_care.py::test_a_page_of_what_is_due_reads_little_more_than_it_shows": "SQLite's steps",
    "store/search/test_projections.py::test_check_sees_a_row_that_points_nowhere": "PRAGMA",
    "store/search/test_projections.py::test_check_counts_and_warns_of_the_fault_of_old_sqlite": "its fault",
}
SELDOM = (
    "store/archive/test_export.py::test_any_log_comes_back",
    "store/entering/test_entries.py::test_entries_are_never_lost",
    "store/search/test_every_write.py::test_checks_in_turn_reach_every_job_and_lot",
    "store/search/test_find.py::test_any_text_can_be_searched_for",
)
DAILY = (
    "desk/record/test_before_rinse.py",
    "desk/record/test_taking_back.py",
    "desk/shelf/test_shelf.py",
    "desk/test_life.py",
)


def of(metafunc: pytest.Metafunc) -> list[Any]:
    """The engines of a test, as parameters."""
    module = Path(str(metafunc.definition.path)).relative_to(HERE).as_posix()
    test = f"{module}::{metafunc.function.__name__}"
    if any(_is_of(test, name) for name in FILES_ONLY):
        return [name for name in ENGINES if name == "sqlite"]
    desk = module.startswith("desk/")
    seldom = any(_is_of(test, name) for name in SELDOM) or (
        desk and not any(_is_of(test, name) for name in DAILY)
    )
    marks = pytest.mark.long if seldom and "sqlite" in ENGINES else ()
    return [pytest.param(name, marks=marks if name == "postgres" else ()) for name in ENGINES]


def _is_of(test: str, name: str) -> bool:
    """Whether the name is that of the test, of its module or of a folder above."""
    return test == name or test.startswith((f"{name}::", f"{name}/"))


class StandIns:
    """Turns logs that are made at paths into logs of the server, while `on`."""

    def __init__(self) -> None:
        self.on = False
        self._lent: list[str] = []
        self._made: list[str] = []
        self._create, self._open = Log.create, Log.open

    @contextmanager
    def turn(self, engine: str) -> Iterator[None]:
        """The turn of an engine in one test; its databases go at the end."""
        self.on = engine == "postgres"
        try:
            yield
        finally:
            self.on = False
            for address in self._lent:
                pg.give_back(address)
            for address in self._made:
                pg.drop(address)
            self._lent, self._made = [], []

    def create(self, where: Any, *, fill: Any = None, **how: Any) -> Log:
        """Stands for `Log.create`."""
        if not self._stands(where) or Path(where).exists():
            return self._create(where, fill=fill, **how)
        address = pg.lent()
        self._lent.append(address)
        log = self._open(address, **how)
        try:
            if fill is not None:
                fill(log)
        except BaseException:
            log.close()
            raise
        _write(Path(where), address)
        return log

    def open(self, where: Any, **how: Any) -> Log:
        """Stands for `Log.open`."""
        if not self._stands(where) or not Path(where).is_file():
            return self._open(where, **how)
        address, _, made_at = Path(where).read_bytes().partition(b"\n")
        if not address.startswith(b"postgresql://"):
            pytest.fail(f"{where} is a file on the turn of PostgreSQL; see FILES_ONLY in tests/engines.py")
        if made_at.decode() != str(where):
            self._made.append(pg.copied(address.decode()))
            _write(Path(where), self._made[-1])
            return self.open(where, **how)
        return self._open(address.decode(), **how)

    def _stands(self, where: Any) -> bool:
        return self.on and not isinstance(where, Address) and "://" not in str(where)


def _write(where: Path, address: str) -> None:
    where.write_text(f"{address}\n{where}")
