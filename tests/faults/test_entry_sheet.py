"""A sheet of entries that is brought in twice at once, or by a program that is killed, is there once or not."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Ran

CLOCK = {"FINISHLOG_NOW": "2026-06-16T07:40:00-05:00", "TZ": "America/Chicago"}


def start(*argv: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "finishlog", *argv],
        env={**os.environ, **CLOCK}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def answer(*argv: str) -> object:
    out, err = start(*argv).communicate(timeout=60)
    assert err == ""
    return json.loads(out)


@pytest.fixture
def sheet(tmp_path: Path, finishlog: Callable[..., Ran]) -> tuple[str, str]:
    loads = (f"terrace,load,2026-06-{1 + i % 15:02d} 7:{i:02d}a,,T-{i},2" for i in range(40))
    path = tmp_path / "entries.csv"
    path.write_text("\n".join(("job,kind,at,customer,ticket,yards", "terrace,job,,Ada,,", *loads)) + "\n")
    log = str(tmp_path / "l.finishlog")
    assert finishlog("new", log).status == 0
    return log, str(path)


def test_two_at_once_keep_it_once(sheet: tuple[str, str]) -> None:
    log, path = sheet
    both = [start("--log", log, "import", path, "--json") for _ in range(2)]
    told = [json.loads(each.communicate(timeout=60)[0]) for each in both]
    assert sorted(each.get("entries_added", 0) for each in told) == [0, 40]
    assert sorted(each["skipped"] for each in told) == [0, 41]


@pytest.mark.long
def test_a_program_that_is_killed_keeps_all_or_nothing(sheet: tuple[str, str]) -> None:
    log, path = sheet
    for wait in range(1, 20):
        running = start("--log", log, "import", path)
        time.sleep(wait / 10)
        running.kill()
        running.communicate(timeout=60)
        found = answer("--log", log, "find", "--json")
        assert isinstance(found, list)
        for each in found:
            record = answer("--log", log, "show", each["job"], "--json")
            assert len(record["record"]["entries"]) == 40  # type: ignore[index]
        assert answer("--log", log, "check", "--json")["ok"]  # type: ignore[index]
