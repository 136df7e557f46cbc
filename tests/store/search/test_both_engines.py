"""Both engines answer every question alike: the same jobs in the same order, with the same scores."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from datetime import date, timedelta
from pathlib import Path

import pytest

from finishlog.records.writing import NewCustomer, NewJob, NewSite
from finishlog.store import Log
from finishlog.store.archive import export
from finishlog.store.schema.tables_view import TEXT_COLUMNS
from finishlog.store.search import dialects
from tests import pg
from tests.store.conftest import Ticking

JOBS = 100
QUESTIONS, MANY = 90, 400
COMMON = ("patio", "walk", "slate", "otter", "lane", "gray")
NAMES = ("marlowby", "barlowby", "barlobx", "thistlewick", "hensley", "orcutt", "larkspur", "mudge", "gravelpit",
         "quillfeather", "puddlecombe", "puddelcombe", "walnut", "walnuts", "wren", "herringbone", "k131", "k", "131",
         "t", "1029", "12", "1240", "2025", "2024", "may2025", "spring2025", "summer2024", "may", "14", "spring",
         "u1f40c",
         "雪の道", "straße", "o", "dell", "mixed2use", "x" * 700)  # fmt: skip
Pair = tuple[Log, Log]


def said(chance: random.Random) -> str:
    """A column's text: a few words are in half of all jobs, some stand twice, some side by side."""
    words = [chance.choice(COMMON if chance.random() < 0.6 else NAMES) for _ in range(chance.randrange(9))]
    return " ".join(words + words[:2] * (chance.random() < 0.3))


def retold(log: Log, seed: int, share: float) -> None:
    """Give a share of the jobs other texts, past what they come from: words in any column, as often as chance will."""
    chance = random.Random(seed)
    with log._connection(write=True) as connection:
        job = dialects.texts(connection).job_id
        columns = (job, *TEXT_COLUMNS)
        for number in range(1, JOBS + 1):
            if chance.random() < share:
                connection.exec_driver_sql(f"DELETE FROM job_text WHERE {job} = {number}")
                if chance.random() < 0.95:
                    texts = (f"'{said(chance)}'" for _ in TEXT_COLUMNS)
                    connection.exec_driver_sql(
                        f"INSERT INTO job_text ({', '.join(columns)}) VALUES ({number}, {', '.join(texts)})"
                    )


def filled(log: Log) -> Log:
    """Jobs of which many have one day."""
    with log.writing() as writer:
        for number in range(JOBS):
            day = date(2024, 5, 1) + timedelta(days=number // 4 * 9)
            state = ("planned", "archived")[number % 7 == 0]
            writer.add_job(
                NewJob(
                    f"job {number}", NewCustomer(f"Bo {number}"), NewSite("s"), state=state, planned_on=day
                )
            )
    return log


@pytest.fixture(scope="module")
def pair(empty_log: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pair]:
    """The same log on both engines."""
    path = tmp_path_factory.mktemp("pair") / "l.finishlog"
    shutil.copy(empty_log, path)
    address = pg.database()
    with ExitStack() as stack:
        logs = []
        for where in (path, address):
            logs.append(filled(Ticking().open(where)))
            stack.callback(logs[-1].close)
        for log in logs:
            retold(log, 0, 1.0)
        yield logs[0], logs[1]
    pg.drop(address)


def slipped(word: str, chance: random.Random) -> str:
    """The word as somebody may mistype it."""
    at = chance.randrange(max(len(word) - 1, 1))
    return chance.choice(
        (
            word[:at] + word[at + 1 :],
            word[:at] + word[at : at + 2][::-1] + word[at + 2 :],
            word[:at] + "q" + word[at:],
        )
    )


def piece(chance: random.Random) -> str:
    word, other = chance.choice(COMMON + NAMES)[:40], chance.choice(COMMON + NAMES)[:40]
    return chance.choice(
        (
            word,
            word,
            word[: chance.randint(1, 4)],
            slipped(word, chance),
            f'"{word} {other}"',
            f"{word}-{other}",
            f"{slipped(word, chance)}-{other}",
            f"{word} {word}",
            "K-131",
            "spring 2025",
            "nothing",
            "year:2024",
        )
    )


def answers(log: Log, words: str, more: dict[str, object]) -> tuple[list[str], list[float], int, list[str]]:
    with log.reading() as reader:
        lines, number = reader.part(words=words, limit=None, **more)  # type: ignore[arg-type]
        some = reader.lines(words=words, limit=5, offset=3, **more)  # type: ignore[arg-type]
        assert reader.count(words=words, **more) == number == len(lines)  # type: ignore[arg-type]
    return [one.handle for one in lines], [one.score for one in lines], number, [one.handle for one in some]


@pytest.mark.parametrize(
    ("seed", "questions", "phones"),
    [
        (1, QUESTIONS, True),
        (1, QUESTIONS // 3, False),
        *(pytest.param(seed, MANY, seed % 5 > 0, marks=pytest.mark.long) for seed in range(2, 12)),
    ],
)
def test_the_same_jobs_in_the_same_order(
    pair: Pair, seed: int, questions: int, phones: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also for those who find nothing by a number that may be a phone's."""
    chance = random.Random(seed)
    found = 0
    for log in pair:
        monkeypatch.setattr(log, "phones", lambda: phones)
        retold(log, seed, 0.4)
    for _ in range(questions):
        words = " ".join(piece(chance) for _ in range(chance.randint(1, 4)))
        more: dict[str, object] = {}
        if chance.random() < 0.2:
            more["since"] = date(2024, chance.randint(1, 12), 1)
        if chance.random() < 0.2:
            more["archived"] = True
        one, other = (answers(log, words, more) for log in pair)
        assert one == other, words
        found += one[2] > 0
    assert found > questions / 2


def test_the_vocabulary_is_the_same(pair: Pair) -> None:
    """What nobody says any more is forgotten."""
    known = []
    for log in pair:
        retold(log, 77, 0.5)
        with log._connection(write=False) as connection:
            rows = connection.exec_driver_sql("SELECT term FROM job_word ORDER BY term").scalars().all()
            known.append([row[:500] for row in rows])
    assert known[0] == known[1]
    assert len(known[0]) > 30


def test_every_word_stands_where_its_text_has_it(pair: Pair) -> None:
    """By the trigger, after any number of changes, of one column or of all, and of the job's own number."""
    _, log = pair
    retold(log, 78, 0.3)
    with log._connection(write=True) as connection:
        for statement in (
            "UPDATE job_text SET rest = 'wren ' || rest WHERE job_id = 3",
            "UPDATE job_text SET who = NULL WHERE job_id = 4",
            "UPDATE job_text SET job_id = 9000 WHERE job_id = 5",
            "DELETE FROM job_text WHERE job_id = 6",
            "UPDATE job_text SET look = season, season = look WHERE job_id > 60",
            "INSERT INTO job_text (job_id, who, rest) SELECT job_id + 9000, who, rest FROM job_text WHERE job_id < 9",
            "DELETE FROM job_text WHERE job_id > 9000",
        ):
            connection.exec_driver_sql(statement)
        columns = "job_id, term, weight, spot, spots"
        queries = (
            f"SELECT {columns} FROM job_text, job_text_spots(who, place, look, season, rest)",
            f"SELECT {columns} FROM job_word_at",
            "SELECT job_id / 256, count(*), sum(words) FROM job_text GROUP BY 1",
            "SELECT part, jobs, words FROM job_word_tally WHERE jobs > 0",
            "SELECT sum(coalesce(cardinality(spots), 1)) FROM job_word_at",
            "SELECT sum(words) FROM job_text",
        )
        said, held, added, tally, spots, words = (
            connection.exec_driver_sql(query).all() for query in queries
        )
        assert sorted(map(str, said)) == sorted(map(str, held))
        assert sorted(map(tuple, added)) == sorted(map(tuple, tally))
        assert spots == words
        connection.exec_driver_sql("DELETE FROM job_text WHERE job_id = 9000")


def test_the_columns_of_an_export_stand_in_one_order(pair: Pair) -> None:
    told = []
    for log in pair:
        with log._connection(write=False) as connection:
            told.append(export.tables(connection))
    assert told[0] == told[1]


def test_one_job_has_no_rarity(log: Log) -> None:
    """A logarithm below zero: a word that all jobs have still finds them."""
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s")))
    with log.reading() as reader:
        (line,) = reader.lines(words="patio")
    assert line.score > 0
