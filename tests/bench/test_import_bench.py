"""What a foreign sheet and an archive coming in cost, as CPU of the whole command, against bare inserts of the rows."""

from __future__ import annotations

import csv
import random
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage

import pytest

from tests.bench.words import BASES, GIVEN, HEADS, PATTERNS, PIECES, RELEASES, SEALERS, TAILS

pytestmark = pytest.mark.bench
ROWS, MOST_S = 3000, 6.0
PACE_S = 0.14
"""`pace` on the machine for which the limit was set: another, or a busy one, is given as much more."""
_HEADERS = (
    "Date,Customer,Phone,Address,Job,Size,Yards,Color,Lbs/yd,Release,Stamp,Sealer,Sealed on,Price,Notes"
)


def foreign_sheet(path: Path, rows: int) -> None:
    """A sheet with columns of its own: every row a job with a pour, a load, a coat and a recipe."""
    chance, day = random.Random(5), date(2011, 3, 1)
    with open(path, "w", newline="", encoding="utf-8") as out:
        sheet = csv.writer(out)
        sheet.writerow(_HEADERS.split(","))
        for number in range(rows):
            day += timedelta(days=chance.choice((0, 1, 1, 2, 3)))
            yards = chance.randint(8, 60) / 4
            sheet.writerow(
                [
                    day.strftime("%m/%d/%Y"),
                    f"{chance.choice(GIVEN)} {chance.choice(HEADS)}{chance.choice(TAILS)}",
                    f"555-01{chance.randint(0, 99):02}",
                    f"{number // 2 + 1} Teakettle Lane",
                    f"{chance.choice(PIECES)} {number % 3 + 1}",
                    round(yards * 75),
                    yards,
                    chance.choice(BASES),
                    chance.randint(2, 9),
                    chance.choice(RELEASES),
                    chance.choice(PATTERNS),
                    chance.choice(SEALERS),
                    (day + timedelta(days=30)).strftime("%m/%d/%Y"),
                    f"${chance.randint(900, 9000):,}",
                    chance.choice(("", "edge burnished", "swept twice")),
                ]
            )


def pace() -> float:
    """CPU of a fixed piece of work, so that a limit in seconds holds on a busy machine too."""
    found = []
    for _ in range(3):
        began = time.process_time()
        with closing(sqlite3.connect(":memory:")) as log:
            log.execute("CREATE TABLE t (id INTEGER PRIMARY KEY, a TEXT, b TEXT, c TEXT)")
            for n in range(60_000):
                log.execute("INSERT INTO t (a, b, c) VALUES (?, ?, ?)", (f"{n:x}", "x" * (n % 30), str(n)))
        found.append(time.process_time() - began)
    return min(found)


def cost(*words: str) -> float:
    """CPU of a whole command."""
    before = getrusage(RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-m", "finishlog", *words], check=True, capture_output=True)
    after = getrusage(RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def bare(source: Path, target: Path) -> tuple[float, int]:
    """CPU of writing all rows of a log's tables into an empty one with the same schema; how many rows."""
    with closing(sqlite3.connect(source)) as log, closing(sqlite3.connect(target)) as copy:
        made = log.execute(
            "SELECT sql, name FROM sqlite_master WHERE type = 'table' AND sql NOT LIKE '%VIRTUAL%'"
        )
        tables = [
            (sql, name) for sql, name in made if not name.startswith(("job_text", "job_word", "sqlite_"))
        ]
        rows = {name: log.execute(f'SELECT * FROM "{name}"').fetchall() for _, name in tables}
        began = time.process_time()
        for sql, name in tables:
            copy.execute(sql)
            if rows[name]:
                marks = ", ".join("?" * len(rows[name][0]))
                copy.executemany(f'INSERT INTO "{name}" VALUES ({marks})', rows[name])
        copy.commit()
        return time.process_time() - began, sum(map(len, rows.values()))


@pytest.fixture(scope="module")
def imported(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, float]:
    """A log made of a foreign sheet, and the CPU it took."""
    folder = tmp_path_factory.mktemp("sheet")
    foreign_sheet(folder / "pours.csv", ROWS)
    log = folder / "shop.finishlog"
    return log, cost("--log", str(log), "import", str(folder / "pours.csv"), "--new")


def test_a_foreign_sheet(imported: tuple[Path, float], tmp_path: Path) -> None:
    log, ours = imported
    floor, rows = bare(log, tmp_path / "bare")
    limit = MOST_S * max(1.0, pace() / PACE_S)
    print(
        f"\n{ROWS} rows of a foreign sheet: {ours:.2f} s CPU of the whole command, limit {limit:.1f}; "
        f"{ours / floor:.1f} of a bare insert of its {rows:,} rows ({floor:.2f})"
    )
    assert ours <= limit


def test_an_archive(imported: tuple[Path, float], tmp_path: Path) -> None:
    log, _ = imported
    cost("--log", str(log), "export", str(tmp_path / "out"))
    start = cost("--log", str(log), "find", "--limit", "1")
    again = tmp_path / "again.finishlog"
    ours = cost("--log", str(again), "import", "--new", str(tmp_path / "out"))
    floor, rows = bare(log, tmp_path / "bare")
    ratio = (ours - start) / floor
    print(f"\nan archive of {rows:,} rows: {ours:.2f} s CPU, {ratio:.1f} of a bare insert ({floor:.2f})")
    assert ratio <= MOST_OF_BARE


MOST_OF_BARE = 40
"""Most of it is what is kept for the list, what falls due and the hashes, computed anew."""
