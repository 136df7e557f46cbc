"""A server that goes away: noticed within seconds, and of a write in mid-commit it is told whether it was written."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest

from finishlog.errors import ServerAway
from finishlog.store import Log
from tests import line
from tests.line import Line
from tests.store.conftest import Ticking

NOTICED_S = 5.0


@pytest.fixture
def wire(address: str) -> Iterator[Line]:
    with line.to(address) as made:
        yield made


@pytest.fixture
def log(wire: Line, ticking: Ticking) -> Log:
    return ticking.open(wire.address)


def write(log: Log, body: str) -> None:
    with log.writing() as writer:
        writer.save_draft("job", body)


def draft(log: Log) -> str | None:
    with log.reading() as reader:
        return reader.draft("job")


@pytest.mark.parametrize("after", [True, False], ids=["after", "before"])
def test_a_write_cut_off_in_its_commit_is_told_truly(log: Log, wire: Line, after: bool) -> None:
    write(log, "one")
    wire.cut_at(b"COMMIT", after=after)
    with pytest.raises(ServerAway, match="cannot be reached") as lost:
        write(log, "two")
    assert lost.value.unsure
    assert log.was_written(lost.value) is None  # nobody can say while the line is cut
    wire.mend()
    assert log.was_written(lost.value) is after
    assert draft(log) == ("two" if after else "one")


def test_a_write_cut_off_before_its_commit_is_not_unsure(log: Log, wire: Line) -> None:
    write(log, "one")
    wire.cut_at(b"write_token", after=False)
    with pytest.raises(ServerAway) as lost:
        write(log, "two")
    assert not lost.value.unsure
    assert log.was_written(lost.value) is False
    wire.mend()
    assert draft(log) == "one"


def test_connections_that_ended_while_nobody_used_them_are_replaced(log: Log, wire: Line) -> None:
    write(log, "one")
    wire.mend()
    assert draft(log) == "one"
    wire.mend()
    write(log, "two")
    assert draft(log) == "two"


@pytest.mark.parametrize("asked", ["read", "write", "connect"])
def test_a_line_that_swallows_all_is_noticed_in_seconds(log: Log, wire: Line, asked: str) -> None:
    write(log, "one")
    if asked == "connect":
        log.close()
    wire.swallow()
    start = time.monotonic()
    with pytest.raises(ServerAway):
        draft(log) if asked != "write" else write(log, "two")
    assert time.monotonic() - start < NOTICED_S
    wire.mend()
    assert draft(log) == "one"
