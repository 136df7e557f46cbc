"""The table of growth at the sizes that fit into the bench tier; `table.py` prints the whole of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench import big, table

pytestmark = pytest.mark.bench
SMALL, LARGE = 300, 3_000
ROWS = ("find a word", "find a typo", "show", "match", "color", "how good", "today", "care", "shelf")
MOST = 1.6
"""Ten times the jobs may cost so much more CPU: the start of a process, and a machine that others use too."""


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Two logs; making them is not measured."""
    folder = tmp_path_factory.mktemp("growth")
    small, large = folder / "small.finishlog", folder / "large.finishlog"
    big.build(small, SMALL)
    big.build(large, LARGE)
    return small, large


@pytest.mark.parametrize("name", ROWS)
def test_ten_times_the_jobs_cost_little_more(logs: tuple[Path, Path], name: str) -> None:
    row = next(one for one in table.ROWS if one.name == name)
    small, large = (table.measured(row, log)[1] for log in logs)
    print(f"{name}: {small.cpu_s:.2f} to {large.cpu_s:.2f} s, {small.most_mb:.0f} to {large.most_mb:.0f} MB")
    assert small.status == large.status == 0
    assert large.cpu_s <= MOST * small.cpu_s
    assert large.most_mb <= 1.3 * small.most_mb
