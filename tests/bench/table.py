"""The table of growth: each command as a whole process on logs of several sizes.

    python tests/bench/table.py FOLDER [ROW…]

FOLDER holds 1k.finishlog, 20k.finishlog and 200k.finishlog (any that are missing are left out), made by
`tests/bench/big.py`. Printed are CPU seconds (user and system, best of some turns) and the most memory in MB, the
growth from the smallest log to the largest, and the ratio to a floor measured in the same run on the largest.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

SIZES = ("1k", "20k", "200k")
NOW = "2026-06-16T12:40:00-05:00"
_OPEN = "import sqlite3, sys; c = sqlite3.connect(sys.argv[1]);"
_NAMES = "SELECT name FROM sqlite_master WHERE type='table' AND name NOT LIKE 'job_text%'"
_TABLES = f"[r[0] for r in c.execute(\"{_NAMES} AND name <> 'job_word'\")]"
FLOORS = {
    "python": "pass",
    "sqlite check": _OPEN + "c.execute('PRAGMA integrity_check').fetchall()",
    "backup api": _OPEN + "d = sqlite3.connect(sys.argv[2]); c.backup(d); d.close()",
    "select": _OPEN + f"[sum(1 for _ in c.execute('SELECT * FROM ' + t)) for t in {_TABLES}]",
}
"""Pure Python on the log alone: what the work costs without us."""


@dataclass(frozen=True, slots=True)
class Row:
    """A command; JOB is a job with readings, OUT a new path, WORD a street in the log, TYPO one misspelled."""

    name: str
    command: tuple[str, ...]
    floor: str = ""
    turns: int = 3
    log: bool = True


ROWS = (
    Row("find a word", ("find", "WORD")),
    Row("find a typo", ("find", "TYPO")),
    Row("show", ("show", "JOB")),
    Row("match", ("match", "JOB", "--rect", "20x10", "--depth", "4in")),
    Row("color", ("color", "JOB")),
    Row("how good", ("color", "--how-good")),
    Row("today", ("today",)),
    Row("care", ("care",)),
    Row("shelf", ("shelf",)),
    Row("check", ("check",), "sqlite check", 1),
    Row("backup", ("backup", "OUT"), "backup api", 1),
    Row("export", ("export", "OUT"), "select", 1),
    Row("dose", ("dose", "--yards", "5", "--dose", "20 lb/yd3"), "python", log=False),
    Row("yards", ("yards", "--rect", "24x18", "--depth", "4in"), "python", log=False),
    Row("film", ("film", "--area", "400"), "python", log=False),
)


@dataclass(frozen=True, slots=True)
class Cost:
    """CPU seconds and MB of a whole process, the exit status it ended with."""

    cpu_s: float
    most_mb: float
    status: int


def cost(command: Sequence[str], folder: Path) -> Cost:
    """What a process takes, its children included. Our own files stay in `folder`."""
    homes = {f"XDG_{name}_HOME": str(folder / name.lower()) for name in ("DATA", "CACHE", "CONFIG")}
    with open(os.devnull, "w") as nowhere:
        started = subprocess.Popen(
            command, stdout=nowhere, stderr=nowhere, env=os.environ | homes | {"FINISHLOG_NOW": NOW}
        )
        _, status, used = os.wait4(started.pid, 0)
    started.returncode = os.waitstatus_to_exitcode(status)
    return Cost(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, started.returncode)


def words_of(log: Path) -> dict[str, str]:
    """A job read often, a word of its street and the word misspelled."""
    with sqlite3.connect(f"file:{log}?mode=ro", uri=True) as held:
        handle, street = held.execute(
            "SELECT job.handle, site.street FROM entry JOIN job ON job.id = entry.job_id "
            "JOIN site ON site.id = job.site_id WHERE entry.kind = 'reading' AND job.state = 'poured' "
            "GROUP BY job.id HAVING count(*) > 4 ORDER BY max(entry.happened) DESC LIMIT 1"
        ).fetchone()
    word = max(street.lower().replace("'", " ").split(), key=len)
    return {"JOB": handle, "WORD": word, "TYPO": word[:2] + word[3] + word[2] + word[4:]}


def measured(row: Row, log: Path) -> Cost:
    """The cheapest of the turns; the first, in which a color may have to be learned, is left out of several."""
    with tempfile.TemporaryDirectory(prefix="finishlog-") as name:
        folder = Path(name)
        said = words_of(log)
        found = []
        for turn in range(row.turns):
            filled = (said | {"OUT": str(folder / f"out{turn}")}).get
            given = [filled(word, word) for word in row.command]
            found.append(cost([sys.executable, "-m", "finishlog", "--log", str(log), *given], folder))
    return min(found[1:] or found, key=lambda one: one.cpu_s)


def floor_s(name: str, log: Path) -> float:
    """CPU seconds of a floor on this log."""
    with tempfile.TemporaryDirectory(prefix="finishlog-") as folder:
        command = [sys.executable, "-c", FLOORS[name], str(log), str(Path(folder) / "out")]
        return min(cost(command, Path(folder)).cpu_s for _ in range(1 if "check" in name else 3))


def line(row: Row, logs: Sequence[Path]) -> str:
    """A row of the table."""
    costs = [measured(row, log) for log in logs]
    cells = [f"{one.cpu_s:.2f} s {one.most_mb:.0f} MB" + (f" (status {one.status})" if one.status else "")
             for one in costs]  # fmt: skip
    grown = f"{costs[-1].cpu_s / costs[0].cpu_s:.2f} / {costs[-1].most_mb / costs[0].most_mb:.2f}"
    ratio = f"{costs[-1].cpu_s / floor_s(row.floor, logs[-1]):.1f} × {row.floor}" if row.floor else ""
    return "| " + " | ".join((row.name, *cells, grown, ratio)) + " |"


def table(folder: Path, wanted: Sequence[str] = (), *, say: Callable[[str], None] = print) -> None:
    """Print the rows wanted, or all."""
    logs = [path for size in SIZES if (path := folder / f"{size}.finishlog").is_file()]
    say("| work | " + " | ".join(log.stem for log in logs) + " | growth CPU / memory | floor |")
    say("|---" * (len(logs) + 3) + "|")
    for row in ROWS:
        if not wanted or row.name in wanted:
            say(line(row, logs if row.log else logs[:1]))


if __name__ == "__main__":
    table(Path(sys.argv[1]), sys.argv[2:], say=lambda text: print(text, flush=True))
