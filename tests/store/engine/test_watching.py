"""Others' writes are noticed, one's own are no news."""

from __future__ import annotations

import shutil
from pathlib import Path
from threading import Thread

import pytest

from finishlog.store import Log
from finishlog.store.engine.watching import Watch


@pytest.fixture
def two(empty_log: Path, tmp_path: Path, ticking) -> tuple[Log, Log]:  # type: ignore[no-untyped-def]
    where = tmp_path / "l.finishlog"
    shutil.copy(empty_log, where)
    mine, theirs = ticking.open(where), ticking.open(where)
    assert not mine.others_wrote()
    return mine, theirs


def write(log: Log, value: str) -> None:
    with log.writing() as writer:
        writer.set_setting("truck_yd3", value)


def test_what_others_write_is_news_once(two: tuple[Log, Log]) -> None:
    mine, theirs = two
    write(theirs, "8")
    assert mine.others_wrote()
    assert not mine.others_wrote()
    write(theirs, "9")
    write(theirs, "10")
    assert mine.others_wrote()


def test_ones_own_writes_are_none(two: tuple[Log, Log]) -> None:
    mine, _ = two
    write(mine, "8")
    write(mine, "9")
    assert not mine.others_wrote()


@pytest.mark.parametrize("order", ["theirs first", "mine first"])
def test_anothers_write_beside_ones_own_is_not_lost(two: tuple[Log, Log], order: str) -> None:
    mine, theirs = two
    for log in (theirs, mine) if order == "theirs first" else (mine, theirs):
        write(log, "8" if log is mine else "9")
    assert mine.others_wrote()


def test_a_write_right_behind_ones_own_is_not_taken_for_it(
    two: tuple[Log, Log], monkeypatch: pytest.MonkeyPatch
) -> None:
    mine, theirs = two
    own = Watch.own

    def slow(self, writer):  # type: ignore[no-untyped-def]
        committed = own(self, writer)

        def later() -> None:
            write(theirs, "9")  # between our commit and the look that follows it
            committed()

        return later

    monkeypatch.setattr(Watch, "own", slow)
    write(mine, "8")
    assert mine.others_wrote()


def test_what_was_taken_back_is_none(two: tuple[Log, Log]) -> None:
    mine, theirs = two
    with theirs.trying() as writer:
        writer.set_setting("truck_yd3", "8")
    assert not mine.others_wrote()


def test_a_closed_log_has_no_news_and_leaves_no_file(two: tuple[Log, Log]) -> None:
    mine, theirs = two
    write(theirs, "8")
    where = mine.where
    mine.close()
    assert not mine.others_wrote()
    theirs.close()
    assert sorted(path.name for path in where.parent.iterdir()) == [where.name]


def test_it_may_be_asked_from_any_thread(two: tuple[Log, Log]) -> None:
    mine, theirs = two
    write(theirs, "8")
    found: list[bool] = []
    thread = Thread(target=lambda: found.append(mine.others_wrote()))
    thread.start()
    thread.join()
    assert found == [True]
