"""The computing commands in a clean interpreter: what they import, and that they need no log."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = ("sqlalchemy", "alembic", "textual", "colour", "scipy", "numpy", "pydantic", "PIL", "rapidfuzz")
SHOW = (
    "import sys, runpy\n"
    "sys.argv = ['finishlog', *sys.argv[1:]]\n"
    "try:\n    runpy.run_module('finishlog', run_name='__main__')\n"
    "except SystemExit as done:\n    status = done.code or 0\n"
    "print('|'.join(sorted(sys.modules)), file=sys.stderr)\n"
    "sys.exit(status)\n"
)


def call(tmp_path: Path, *argv: str, show: str = SHOW) -> subprocess.CompletedProcess[str]:
    home = {"HOME": str(tmp_path), "XDG_DATA_HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)}
    environment = {key: value for key, value in os.environ.items() if key != "FINISHLOG_LOG"}
    return subprocess.run(
        [sys.executable, "-c", show, *argv],
        capture_output=True,
        text=True,
        env=environment | home,
        cwd=tmp_path,
        check=False,
    )


@pytest.mark.parametrize(
    "argv",
    [
        ("dose", "--yards", "6.75", "--percent", "4", "--cement", "564", "--pack", "5lb", "--truck", "4"),
        ("yards", "--rect", "27x16.5", "--depth", "4in", "--no-history"),
        ("yards", "--rect", "27x16.5", "--depth", "4in"),
        ("film", "--rect", "24x18", "--stamped"),
        ("weather", "--air", "80F", "--concrete", "87F", "--humidity", "50", "--wind", "12mph"),
    ],
)
def test_nothing_heavy_is_imported_and_no_log_is_made(tmp_path: Path, argv: tuple[str, ...]) -> None:
    done = call(tmp_path, *argv, "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)
    loaded = {name.partition(".")[0] for name in done.stderr.strip().splitlines()[-1].split("|")}
    assert not loaded & set(HEAVY)
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_option_is_one_line_and_exit_two(tmp_path: Path) -> None:
    run = "import sys\nfrom finishlog.__main__ import main\nsys.exit(main())"
    for argv in (
        ("yards", "--rect", "24x\x1b[31m", "--depth", "4"),
        ("dose", "--yards", "3", "--percent", "10.1", "--cement", "564"),
        ("yards", "--depth"),
    ):
        done = call(tmp_path, *argv, show=run)
        assert done.returncode == 2
        assert done.stdout == ""
        assert len(done.stderr.splitlines()) == 1
        assert "\x1b" not in done.stderr
