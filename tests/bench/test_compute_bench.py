"""`dose`, and `yards` without history, against the same interpreter doing nothing, in the same run."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

import pytest

RUNS = 15
MOST = 10.0
COMMANDS = {
    "dose": ["dose", "--yards", "6.75", "--percent", "4", "--cement", "564", "--pack", "5lb", "--truck", "4"],
    "yards": ["yards", "--rect", "27x16.5", "--depth", "4in", "--no-history"],
}


def seconds(argv: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *argv], check=True, capture_output=True)
    return time.perf_counter() - start


@pytest.mark.bench
@pytest.mark.parametrize("name", COMMANDS)
def test_a_computing_command_takes_at_most_ten_times_nothing(name: str) -> None:
    command = ["-m", "finishlog", *COMMANDS[name], "--json"]
    seconds(command)
    pairs = [(seconds(["-c", "pass"]), seconds(command)) for _ in range(RUNS)]
    nothing, whole = (statistics.median(times) for times in zip(*pairs, strict=True))
    print(
        f"\n{name}: {whole * 1000:.1f} ms, nothing {nothing * 1000:.1f} ms, "
        f"ratio {whole / nothing:.2f} (at most {MOST})"
    )
    assert whole <= MOST * nothing
