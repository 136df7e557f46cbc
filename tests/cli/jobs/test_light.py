"""A command that answers for one job waits for no library that it does not need."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

RUN = (
    "import sys\nfrom finishlog.__main__ import main\n"
    "status = main(sys.argv[1:])\n"
    "print('\\n' + '|'.join(sys.modules))\n"
    "sys.exit(status)\n"
)
JOB = "wobblestone-back-patio"
NEVER = {"alembic", "textual", "colour", "pydantic", "rapidfuzz", "fpdf", "PIL", "sqlalchemy.orm", "scipy"}
NUMBERS = {"numpy"}
PLAN = {"finishlog.records.plan", "finishlog.desk.plan.words"}


def loaded(log: str, *argv: str) -> tuple[str, set[str]]:
    """What the command printed, and every module that its process had at the end."""
    at = {"FINISHLOG_NOW": "2026-06-16T07:40-05:00"}
    done = subprocess.run(
        [sys.executable, "-c", RUN, "--log", log, *argv],
        capture_output=True, text=True, check=True, env=os.environ | at,
    )  # fmt: skip
    printed, _, names = done.stdout.rstrip("\n").rpartition("\n")
    return printed, set(names.split("|"))


@pytest.mark.parametrize(
    ("argv", "never"),
    [
        (("find", "patio"), NEVER | NUMBERS | PLAN),
        (("show", JOB), NEVER | NUMBERS | PLAN),
        (("today",), NEVER | NUMBERS),
        (("care",), NEVER | NUMBERS),
        (("shelf",), NEVER | NUMBERS),
        (("color", JOB), NEVER),
        (("match", JOB, "--rect", "20x10", "--depth", "4in"), NEVER),
    ],
    ids=lambda one: one[0] if isinstance(one, tuple) else "",
)
def test_nothing_is_loaded_in_vain(demo: str, argv: tuple[str, ...], never: set[str]) -> None:
    printed, found = loaded(demo, *argv)
    assert printed.strip()
    assert never & found == set()
    assert "sqlalchemy" in found  # the log was read: the sight is not of an empty process
