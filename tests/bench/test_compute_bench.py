"""The commands that only compute, against the same interpreter doing nothing: CPU time of the whole process."""

from __future__ import annotations

import os
import resource
import subprocess
import sys

import pytest

RUNS = 15
MOST = 8.0
COMMANDS = {
    "dose": ["dose", "--yards", "6.75", "--percent", "4", "--cement", "564", "--pack", "5lb", "--truck", "4"],
    "yards": ["yards", "--rect", "27x16.5", "--depth", "4in", "--no-history"],
    "film": ["film", "--area", "445 ft2", "--coverage", "225", "--solids", "25"],
    "weather": ["weather", "--air", "80F", "--concrete", "87F", "--humidity", "50", "--wind", "12mph"],
}
KEEPS_BYTECODE = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def least_cpu_s(argv: list[str]) -> float:
    """The least CPU time of RUNS, after one that leaves the bytecode behind."""
    times = []
    for _ in range(RUNS + 1):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *argv], check=True, capture_output=True, env=KEEPS_BYTECODE)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(times[1:])


@pytest.mark.bench
@pytest.mark.parametrize("name", COMMANDS)
def test_a_computing_command_starts_soon(name: str) -> None:
    nothing, whole = least_cpu_s(["-c", "pass"]), least_cpu_s(["-m", "finishlog", *COMMANDS[name], "--json"])
    print(f"\n{name}: {whole * 1000:.1f} ms, nothing {nothing * 1000:.1f} ms, "
          f"ratio {whole / nothing:.2f} (at most {MOST})")  # fmt: skip
    assert whole <= MOST * nothing
