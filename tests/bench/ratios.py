"""What the same log costs in a file and on a server: python tests/bench/ratios.py FILE ADDRESS [TURNS [WARM]]

FILE is a log of `tests/bench/big.py`, ADDRESS the same on a server (`tests/bench/many.py`, or `finishlog copy-to`).
Both are asked in turns, in one run; printed are medians in ms and PostgreSQL's by SQLite's. CPU is that of this
process, and of all the server's where it runs on this machine. First a program that runs already, then whole
commands from their start. The notes that it logs stay in both logs. A program that runs has asked everything
before: WARM turns do not count, as many as the server takes to settle on a plan. With a WARM of 1 it is one whose
connection is new.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

sys.path.insert(0, str(Path(__file__).parent))

import table

from finishlog.desk.due import today
from finishlog.desk.jobs import find, page
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.store import Log
from finishlog.store.engine.postgres import server
from finishlog.store.engine.postgres.address import parsed

TURNS, WARM = 7, 8
ALL = "moonhill"
"""A word of every job of `big.py`; so are `colors`, after it, and `with`."""
MOST = 3.0
Call = Callable[[Services], object]


@dataclass(frozen=True)
class Cost:
    """CPU and time by the clock, in ms."""

    cpu_ms: float
    wall_ms: float


def services(where: str) -> Services:
    """The desks' of a log, opened."""
    now = datetime.fromisoformat(table.NOW)
    log = Log.open(where, clock=lambda: now, new_uid=lambda: uuid.uuid4().hex)
    return Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: now,
                    find_zone=lambda: ZoneInfo("America/Chicago"))  # fmt: skip


def postmaster(address: str) -> int | None:
    """The server's first process, if it is one of this machine."""
    with closing(server.connect(parsed(address))) as raw:
        pid = int(raw.execute("SELECT pg_backend_pid()").fetchone()[0])
        local = raw.execute("SELECT inet_server_addr() IS NULL").fetchone()[0]
        return _parent(pid) if local else None


def _parent(pid: int) -> int:
    return int(Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[1])


def server_s(first: int | None) -> float:
    """CPU seconds of a server's processes, those that have ended included."""
    if first is None:
        return 0.0
    ended = Path(f"/proc/{first}/stat").read_text().rpartition(")")[2].split()
    found = sum(map(int, ended[13:15])) / os.sysconf("SC_CLK_TCK")
    for one in Path("/proc").glob("[0-9]*"):
        try:
            if int(one.name) == first or _parent(int(one.name)) == first:
                found += int((one / "schedstat").read_text().split()[0]) / 1e9
        except OSError:  # it ended meanwhile
            continue
    return found


def measured(call: Callable[[], object], first: int | None) -> Cost:
    """What a call takes here and on the server."""
    before, began, ours = server_s(first), time.perf_counter(), time.process_time()
    call()
    ours, wall = time.process_time() - ours, time.perf_counter() - began
    return Cost((ours + server_s(first) - before) * 1000, wall * 1000)


def calls(words: dict[str, str]) -> Iterator[tuple[str, Call]]:
    """What is asked of a program that runs."""
    asked = {
        "a page of all jobs": "",
        "find a name": words["WORD"],
        "find a typo": words["TYPO"],
        "find the start of a word": "pat",
        "find a word of every job": ALL,
        "find two words of every job": f"{ALL} colors",
        "find three words of every job": f"{ALL} colors with",
        "find a phrase of every job": f'"{ALL} colors"',
    }
    for name, said in asked.items():
        yield name, partial(find.page, words=said, limit=20)
    yield "Today", today.today
    yield "a job's page", partial(page.lay_open, job=words["JOB"])
    yield "an append", lambda desk: record.record(desk, words["JOB"], "note", {"note": uuid.uuid4().hex})


def compared(
    call: Call, desks: tuple[Services, Services], first: int | None, turns: int, warm: int
) -> tuple[Cost, Cost]:
    """The medians of both, asked in turns after some that do not count."""
    costs: tuple[list[Cost], list[Cost]] = ([], [])
    for turn in range(turns + warm):
        for place in (0, 1) if turn % 2 else (1, 0):
            cost = measured(partial(call, desks[place]), first if place else None)
            if turn >= warm:
                costs[place].append(cost)
    return _median(costs[0]), _median(costs[1])


def commands(where: tuple[str, str], words: dict[str, str], first: int | None, turns: int) -> Iterator[str]:
    """The same of whole commands; by the clock they are not compared."""
    asked = {"find a name": ("find", "WORD"), "find a typo": ("find", "TYPO"), "Today": ("today",),
             "find three words of every job": ("find", ALL, "colors", "with"),
             "find a phrase of every job": ("find", f'"{ALL} colors"'), "a job's page": ("show", "JOB"),
             "an append": ("record", "JOB", "note", "--note", "swept again")}  # fmt: skip
    with tempfile.TemporaryDirectory(prefix="finishlog-") as folder:
        for name, command in asked.items():
            said = [words.get(word, word) for word in command]

            def run(place: int, said: list[str] = said) -> Cost:
                before = server_s(first)
                began = time.perf_counter()
                took = table.cost(
                    [sys.executable, "-m", "finishlog", "--log", where[place], *said], Path(folder)
                )
                assert took.status == 0, said
                wall = time.perf_counter() - began
                more = server_s(first) - before if place else 0.0
                return Cost((took.cpu_s + more) * 1000, wall * 1000)

            costs = [(run(0), run(1)) for _ in range(turns)]
            yield line(name, *(_median([pair[place] for pair in costs]) for place in (0, 1)))


def _median(costs: list[Cost]) -> Cost:
    return Cost(
        statistics.median(one.cpu_ms for one in costs), statistics.median(one.wall_ms for one in costs)
    )


def line(name: str, file: Cost, ours: Cost) -> str:
    """A row of the table; what takes more than it may is marked."""
    ratio, by_clock = ours.cpu_ms / file.cpu_ms, ours.wall_ms / file.wall_ms
    mark = "" if ratio <= MOST else " over"
    return (
        f"| {name} | {file.cpu_ms:.1f} | {ours.cpu_ms:.1f} | {ratio:.1f}{mark} "
        f"| {file.wall_ms:.1f} | {ours.wall_ms:.1f} | {by_clock:.1f} |"
    )


def main(file: str, address: str, turns: int = TURNS, warm: int = WARM) -> None:
    """Print the tables."""
    words, first = table.words_of(Path(file)), postmaster(address)
    print(f"load {os.getloadavg()[0]:.1f}; {words}" + ("" if first else "; the server's CPU is not counted"))
    desks = services(file), services(address)
    for title in ("a program that runs", "whole commands"):
        print(
            f"\n| {title} | CPU ms, file | server | ratio | ms by the clock, file | server | ratio |\n"
            + "|---" * 7
            + "|"
        )
        if title == "whole commands":
            for row in commands((file, address), words, first, max(turns // 2, 1)):
                print(row, flush=True)
            continue
        for name, call in calls(words):
            print(line(name, *compared(call, desks, first, turns, warm)), flush=True)
    print(f"\nload {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main(*sys.argv[1:3], *map(int, sys.argv[3:5]))
