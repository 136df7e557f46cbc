"""A read that nobody waits for ends at once, and the connection serves the next."""

from __future__ import annotations

import threading
import time

import pytest
from sqlalchemy import text

from finishlog.stopping import Stop, Stopped, under
from finishlog.store import Log

ENDLESS = text("WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT max(i) FROM n")


def test_a_stopped_read_ends_and_the_next_one_answers(log: Log) -> None:
    stop, began = Stop(), threading.Event()

    def after() -> None:
        began.wait(60)
        time.sleep(0.05)
        stop.stop()

    other = threading.Thread(target=after)
    other.start()

    def endless() -> None:
        with under(stop), log._connection(write=False) as connection:
            began.set()
            connection.execute(ENDLESS)

    with pytest.raises(Stopped):
        endless()
    other.join()
    with pytest.raises(Stopped), under(stop), log.reading() as reader:
        reader.count()
    stop.stop()
    with log.reading() as reader:
        assert reader.count() == 0


def test_what_is_stopped_after_its_read_stops_no_other(log: Log) -> None:
    stop = Stop()
    with under(stop), log.reading() as reader:
        assert reader.count() == 0
    with log.reading() as reader:
        stop.stop()
        assert reader.count() == 0
