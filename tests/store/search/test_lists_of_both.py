"""What falls due, the book of reseals, the shelf, colors and what was learned: both engines tell of one log alike."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from finishlog.records.answers import KeptLearned
from finishlog.records.care import CareAsked
from finishlog.store import Log
from finishlog.store.archive import export
from finishlog.store.reader import Reader
from finishlog.store.search import learned, shelved
from tests import pg
from tests.store.conftest import Ticking
from tests.store.search.test_every_write import Shop

UNITS = 25
SOON, LATE = datetime(2025, 7, 1, tzinfo=UTC), datetime(2029, 7, 1, tzinfo=UTC)
BOOK = CareAsked(
    today=date(2027, 9, 1), until=date(2031, 1, 1), since=date(2025, 1, 1),
    month=2027 * 12 + 8, open_month=2027 * 12 + 8, season=2027 * 12 + 3,
)  # fmt: skip
Ask = Callable[[Reader], object]
ASKED: dict[str, Ask] = {
    "due": lambda log: log.due(LATE),
    "due, some": lambda log: log.due(LATE, limit=7),
    "due, since": lambda log: log.due(LATE, since=SOON),
    "due, after": lambda log: log.due(LATE, after=SOON, limit=9),
    "due, of kinds": lambda log: log.due(LATE, keys=("reseal", "photo", "wash", "cure"), limit=20),
    "due, nothing": lambda log: log.due(LATE, keys=("none such",)),
    "due, of a job": lambda log: [log.due_of(line.handle) for line in log.lines()],
    "book": lambda log: [(done, job.handle) for done, job in log.reseals(BOOK)],
    "book, a page": lambda log: [(done, job.handle) for done, job in log.reseals(BOOK, limit=3, offset=2)],
    "book, counted": lambda log: log.reseal_counts(BOOK),
    "book, marks": lambda log: log.reseal_states(BOOK, [count.month for count in log.reseal_counts(BOOK)]),
    "shelf": lambda log: [(mark.product.uid, mark.lot, mark.state) for mark in log.shelf_marks(every=True)],
    "shelf, used up": lambda log: log.shelf_used_up(limit=2, offset=1),
    "products": lambda log: [one.uid for one in log.products()],
    "products, of a kind": lambda log: [one.uid for one in log.products("sealer")],
    "products, named": lambda log: [one.uid for one in log.products(named="SEALER 1")],
    "colors": lambda log: log.near((52.0, 5.0, 14.5)),
    "colors, some": lambda log: log.near((30.0, 5.0, 14.5), limit=3, archived=True),
    "colors, within": lambda log: log.near((52.0, 5.0, 14.5), within=1.5),
    "moment": lambda log: log.moment(),
    "since": lambda log: log.since(20),
    "checkpoint": lambda log: log.checkpoint(log.readings_count()),
    "later": lambda log: log.later_readings([line.handle for line in log.lines()], 10),
    "areas": lambda log: log.area_marks([line.handle for line in log.lines()]),
    "sealers": lambda log: log.sealers_mark(),
    "lines": lambda log: log.lines(archived=True),
    "facets": lambda log: [log.lines(words=words) for words in ("year:2025", 'sealer:"seler 1"')],
    "learning": lambda log: log.learning_rows(),
    "learning mark": lambda log: log.readings_mark(),
    "meant": lambda log: (log.nearest("bo fren"), log.nearest("cy red walk")),
    "sums": lambda log: sorted(map(repr, shelved.read(log._connection).values())),
}  # fmt: skip


@pytest.fixture(scope="module")
def pair(empty_log: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Log, Log]]:
    """The same walk on both engines."""
    folder = tmp_path_factory.mktemp("pair")
    shutil.copy(empty_log, folder / "l.finishlog")
    address = pg.database()
    with ExitStack() as stack:
        logs = []
        for where in (folder / "l.finishlog", address):
            log = Ticking().open(where)
            stack.callback(log.close)
            shop = Shop(3, folder)
            for _ in range(UNITS):
                with log.writing() as writer:
                    for _ in range(5):
                        shop.turn(writer)
            logs.append(log)
        yield logs[0], logs[1]
    pg.drop(address)


@pytest.mark.parametrize("what", ASKED)
def test_both_tell_the_same(pair: tuple[Log, Log], what: str) -> None:
    told = []
    for log in pair:
        with log.reading() as reader:
            told.append(ASKED[what](reader))
    assert told[0] == told[1]
    assert told[0] or what == "due, nothing"


def test_their_exports_are_the_same_bytes(pair: tuple[Log, Log], tmp_path: Path) -> None:
    for number, log in enumerate(pair):
        export.dump(log, tmp_path / str(number))
    one, other = (
        {path.relative_to(folder): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}
        for folder in (tmp_path / "0", tmp_path / "1")
    )
    assert one.keys() == other.keys()
    assert [name for name in one if one[name] != other[name]] == []


def test_what_was_learned_is_kept_proved_and_forgotten(log: Log) -> None:
    parts = [KeptLearned("base", part, "1", 5, "5.1.0", "body é") for part in ("", "recipe a", "recipe b")]
    log.keep_learned(parts, anew=True)
    with log._connection(write=True) as connection:
        assert learned.kept(connection, "base", "recipe a") == parts[1]
        assert learned.damaged(connection) == ()
        connection.exec_driver_sql("UPDATE learned SET body = 'other' WHERE part = 'recipe a'")
        (wrong,) = learned.damaged(connection)
        assert learned.kept(connection, "base", "recipe a") is None
        learned.forget(connection, [wrong])
        assert learned.damaged(connection) == ()
        assert learned.kept(connection, "base", "recipe b") == parts[2]
