"""The table of growth: each command as a whole process on logs of several sizes.

    python tests/bench/table.py FOLDER [ROW…]

FOLDER holds 1k.finishlog, 20k.finishlog and 200k.finishlog (any that are missing are left out), made by
`tests/bench/big.py`. Printed are CPU seconds (user and system, best of some turns) and the most memory in MB, the
growth from the smallest log to the largest, and the ratio to a floor measured in the same run on the largest. A row
with a cold turn says first what the first turn took, in which a color is learned.
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
from shutil import copyfile

SIZES = ("1k", "20k", "200k")
NOW = "2026-06-16T12:40:00-05:00"
OURS = (
    *("alembic_version", "care", "chain", "due", "job_facet", "job_line", "learned"),
    *("log_state", "seal", "shelf", "unsealed"),
)
"""Tables that no export has: what the log knows of itself, and what is computed."""
_OPEN = "import sqlite3, sys; c = sqlite3.connect(sys.argv[1]);"
_NAMES = (
    "SELECT name FROM sqlite_master WHERE type='table' AND name NOT LIKE 'job_text%' AND name <> 'job_word'"
)
_TABLES = f'[r[0] for r in c.execute("{_NAMES}") if r[0] not in {OURS}]'
_PHOTOS = """
import hashlib, os, sys
from io import BytesIO
from pathlib import Path
from PIL import Image, ImageOps
into = Path(sys.argv[2])
into.mkdir()
for path in sorted(Path(sys.argv[3]).iterdir()):
    data = path.read_bytes()
    name = hashlib.sha256(data).hexdigest()
    with open(into / name, "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    with Image.open(BytesIO(data)) as image:
        image.thumbnail((512, 512), reducing_gap=2.0)
        ImageOps.exif_transpose(image).save(into / f"{name}.jpg", quality=85)
"""
_STARTER = """
import os, sys
nowhere = [(os.POSIX_SPAWN_OPEN, at, os.devnull, os.O_WRONLY, 0) for at in (1, 2)]
pid = os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ, file_actions=nowhere)
_, status, used = os.wait4(pid, 0)
print(used.ru_utime + used.ru_stime, used.ru_maxrss, os.waitstatus_to_exitcode(status))
"""
"""Starts a command from a process that is small: the memory of its parent counts as a process's own."""
FLOORS = {
    "python": "pass",
    "sqlite check": _OPEN + "c.execute('PRAGMA integrity_check').fetchall()",
    "backup api": _OPEN + "d = sqlite3.connect(sys.argv[2]); c.backup(d); d.close()",
    "select": _OPEN + f"[sum(1 for _ in c.execute('SELECT * FROM ' + t)) for t in {_TABLES}]",
    "hash, copy, thumbnail": _PHOTOS,
}
"""Python without us: what the work costs at least. Given are the log, a new path, a folder of photos."""


@dataclass(frozen=True, slots=True)
class Row:
    """A command; JOB is a job with readings, OUT a new path, WORD a street in the log, TYPO one misspelled.

    `goal` is what the largest log may cost. A command that writes gets a copy of the log, and only the first does.
    """

    name: str
    command: tuple[str, ...]
    goal: str
    floor: str = ""
    turns: int = 3
    each: bool = True
    cold: bool = False
    writes: bool = False


ROWS = (
    Row("find a word", ("find", "WORD"), "≤ .45 s"),
    Row("find a typo", ("find", "TYPO"), "≤ .6 s"),
    Row("show", ("show", "JOB"), "≤ .45 s"),
    Row("match", ("match", "JOB", "--rect", "20x10", "--depth", "4in"), "≤ 1.3 × show", cold=True),
    Row("color", ("color", "JOB"), "≤ 1.3 × show", cold=True),
    Row("how good", ("color", "--how-good"), "≤ 1.3 × show", cold=True),
    Row("today", ("today",), "≤ 1.3 × at 1k"),
    Row("care", ("care",), "≤ 1.3 × at 1k"),
    Row("shelf", ("shelf",), "≤ 1.3 × at 1k"),
    Row("check", ("check",), "≤ 4 × floor", "sqlite check", 1),
    Row("backup", ("backup", "OUT"), "≤ 2 × floor", "backup api", 1),
    Row("export", ("export", "OUT"), "≤ 2.5 × floor", "select", 1),
    Row("dose", ("dose", "--yards", "5", "--percent", "4", "--cement", "564"), "≤ 6 × floor", "python", each=False),
    Row("yards", ("yards", "--rect", "24x18", "--depth", "4in"), "≤ 6 × floor", "python", each=False),
    Row("film", ("film", "--area", "400"), "≤ 6 × floor", "python", each=False),
    Row(
        "16 photos of 12 MP", ("photo", "JOB", "PHOTOS", "--taken", "unknown"), "≤ 1.2 × floor",
        "hash, copy, thumbnail", 1, each=False, writes=True,
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cost:
    """CPU seconds and MB of a whole process, the exit status it ended with."""

    cpu_s: float
    most_mb: float
    status: int


def cost(command: Sequence[str], folder: Path) -> Cost:
    """What a process takes, its children included. Our own files stay in `folder`."""
    homes = {f"XDG_{name}_HOME": str(folder / name.lower()) for name in ("DATA", "CACHE", "CONFIG", "STATE")}
    told = subprocess.run(
        [sys.executable, "-I", "-S", "-c", _STARTER, *command], check=True, capture_output=True, text=True,
        env=os.environ | homes | {"FINISHLOG_NOW": NOW},
    )  # fmt: skip
    cpu_s, most_kb, status = told.stdout.split()
    return Cost(float(cpu_s), int(most_kb) / 1024, int(status))


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


def measured(row: Row, log: Path) -> tuple[Cost, Cost]:
    """The first turn, in which a color may have to be learned, and the cheapest of the others."""
    with tempfile.TemporaryDirectory(prefix="finishlog-") as name:
        folder = Path(name)
        said = words_of(log)
        if row.writes:
            log = Path(copyfile(log, folder / log.name))
        found = []
        for turn in range(row.turns):
            filled = (said | {"OUT": str(folder / f"out{turn}"), "PHOTOS": PHONE.name}).get
            given = [filled(word, word) for word in row.command]
            found.append(cost([sys.executable, "-m", "finishlog", "--log", str(log), *given], folder))
    return found[0], min(found[1:] or found, key=lambda one: one.cpu_s)


PHONE = tempfile.TemporaryDirectory(prefix="finishlog-")


def take_photos() -> None:
    """Sixteen pictures of 12 million pixels, with as much grain as a phone's."""
    import numpy as np
    from PIL import Image

    chance = np.random.default_rng(7)
    rough = chance.normal(130, 40, (378, 504, 3)).clip(0, 255).astype(np.uint8)
    slab = np.asarray(Image.fromarray(rough).resize((4032, 3024), Image.Resampling.BICUBIC), dtype=np.int16)
    for number in range(16):
        grain = chance.integers(-14, 15, (3024, 4032, 1), dtype=np.int16)
        made = Image.fromarray((slab + grain).clip(0, 255).astype(np.uint8))
        made.save(Path(PHONE.name) / f"IMG_{number:04d}.jpg", quality=90)


def floor_s(name: str, log: Path) -> float:
    """CPU seconds of a floor on this log."""
    turns = 1 if name in ("sqlite check", "hash, copy, thumbnail") else 3
    with tempfile.TemporaryDirectory(prefix="finishlog-") as folder:
        found = [
            cost(
                [sys.executable, "-c", FLOORS[name], str(log), str(Path(folder) / f"out{turn}"), PHONE.name],
                Path(folder),
            )
            for turn in range(turns)
        ]
    assert not any(one.status for one in found)
    return min(one.cpu_s for one in found)


def line(row: Row, logs: Sequence[Path]) -> str:
    """A row of the table."""
    if row.writes:
        take_photos()
    asked = logs if row.each else logs[:1]
    costs = [measured(row, log) for log in asked]
    cells = [_cell(row, *pair) for pair in costs] + [""] * (len(logs) - len(asked))
    least, most = costs[0][1], costs[-1][1]
    grown = f"{most.cpu_s / least.cpu_s:.2f} / {most.most_mb / least.most_mb:.2f}" if row.each else ""
    ratio = f"{most.cpu_s / floor_s(row.floor, asked[-1]):.1f} × {row.floor}" if row.floor else ""
    return "| " + " | ".join((row.name, *cells, grown, ratio, row.goal)) + " |"


def _cell(row: Row, first: Cost, best: Cost) -> str:
    cold = f"{first.cpu_s:.2f} cold, " if row.cold else ""
    failed = f" (status {best.status})" if best.status else ""
    return f"{cold}{best.cpu_s:.2f} s {max(first.most_mb, best.most_mb):.0f} MB{failed}"


def size_line(logs: Sequence[Path]) -> str:
    """The row of the files themselves."""
    cells = []
    for log in logs:
        with sqlite3.connect(f"file:{log}?mode=ro", uri=True) as held:
            (jobs,) = held.execute("SELECT count(*) FROM job").fetchone()
        size = log.stat().st_size
        cells.append(f"{size / 1e6:.0f} MB, {size / 1e3 / jobs:.1f} kB a job")
    return "| " + " | ".join(("file", *cells, "", "", "said")) + " |"


def table(folder: Path, wanted: Sequence[str] = (), *, say: Callable[[str], None] = print) -> None:
    """Print the rows wanted, or all."""
    logs = [path for size in SIZES if (path := folder / f"{size}.finishlog").is_file()]
    say("| work | " + " | ".join(log.stem for log in logs) + " | growth CPU / memory | floor | goal |")
    say("|---" * (len(logs) + 4) + "|")
    for row in ROWS:
        if not wanted or row.name in wanted:
            say(line(row, logs))
    if not wanted or "file" in wanted:
        say(size_line(logs))


if __name__ == "__main__":
    table(Path(sys.argv[1]), sys.argv[2:], say=lambda text: print(text, flush=True))
