"""README says what is true: its commands run, and print what it shows."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import finishlog

ROOT = Path(finishlog.__file__).parent.parent
README = (ROOT / "README.md").read_text()
COMMANDS = (ROOT / "finishlog" / "data" / "help" / "commands.txt").read_text()
AT_NIGHT = ("2026-06-16T00:01:00-05:00", "2026-06-16T23:59:00-05:00")


def steps(text: str) -> list[tuple[str, list[str]]]:
    """Each command of the console blocks with the lines shown under it, which may leave some out."""
    blocks = re.findall(r"^```console\n(.*?)^```", text, re.M | re.S)
    lines = [step.split("\n") for block in blocks for step in block.split("$ ")[1:]]
    return [(command, [line for line in shown if line.strip()]) for command, *shown in lines]


def examples(page: str) -> list[str]:
    return [line for line in page.splitlines() if line.startswith("finishlog ")]


def test_the_tour_runs_as_written(
    finishlog: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In this process, as `finishlog` would run it: a start of Python for each is most of the time."""
    monkeypatch.chdir(tmp_path)
    tour = steps(README)
    assert sum(bool(shown) for _, shown in tour) >= 5
    for command, shown in tour:
        name, *argv = shlex.split(command)
        ran = finishlog(*argv)
        assert (name, ran.status) == ("finishlog", 0), (command, ran.err)
        printed = ran.out.splitlines()
        for line in shown:  # in this order
            assert line in printed, (command, line)
            printed = printed[printed.index(line) + 1 :]
    again = finishlog("demo", "--into", "try.finishlog")
    assert (again.status, "try.finishlog" in again.err) == (3, True)
    sheets = next(shlex.split(command)[1:] for command, _ in tour if "--pdf" in command)
    assert (finishlog(*sheets).status, finishlog(*sheets, "--force").status) == (2, 0)
    logged = next(shlex.split(command)[1:] for command, _ in tour if " record " in command)
    for now in AT_NIGHT:
        monkeypatch.setenv("FINISHLOG_NOW", now)
        assert finishlog(*logged).status == 0


def test_a_command_of_the_tour_runs_in_a_shell(tmp_path: Path) -> None:
    command, shown = steps(README)[0]
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    env = {**os.environ, "PATH": path, "HOME": str(tmp_path)}
    ran = subprocess.run(command, shell=True, cwd=tmp_path, env=env, capture_output=True, text=True)
    assert (ran.returncode, shown[0] in ran.stdout) == (0, True), ran.stderr


def test_the_page_of_commands_names_every_command_and_each_can_be_parsed() -> None:
    from finishlog.cli.main import _HOME, parse

    for command in examples(COMMANDS):
        parse(shlex.split(command)[1:])
    told = set(re.findall(r"[a-z]+(?:-[a-z]+)*", README + COMMANDS))
    assert set(_HOME) - told == set()


@pytest.mark.long
def test_the_page_of_commands_runs_as_written(
    finishlog: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for command in ["finishlog demo --into try.finishlog", *examples(COMMANDS)]:
        ran = finishlog(*shlex.split(command)[1:])
        assert (command, ran.status, ran.err if ran.status else "") == (command, 0, "")


def test_the_keys_for_a_first_job_are_those_of_the_screens() -> None:
    from finishlog.tui import actions

    told = dict(re.findall(r"^- `(\w)` (.*?)$", README, re.M))
    assert list(told) == ["n", "l", "d", "u"]
    for scope, keys in (("jobs", "n"), ("job", "ldu")):
        verbs = {action.key: action.id for action in actions.of(scope)}
        meant = [f"{scope}.{verb}" for verb in (["new"] if scope == "jobs" else ["log", "day", "undo"])]
        assert [verbs[key] for key in keys] == meant


def test_the_two_commands_stand_as_the_project_promises() -> None:
    assert "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/finishlog demo\n" in README
    assert "python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/pytest\n" in README


def test_every_command_is_in_help() -> None:
    from finishlog.cli.main import _HOME

    command = [sys.executable, "-m", "finishlog", "--help"]
    ran = subprocess.run(command, capture_output=True, text=True, check=True)
    assert all(re.search(rf"^    {name} ", ran.stdout, re.M) for name in _HOME)


def test_the_help_of_every_command_has_an_example_that_can_be_parsed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from finishlog.cli.main import _HOME, parse

    monkeypatch.setenv("COLUMNS", "10000")
    for name in _HOME:
        capsys.readouterr()
        with pytest.raises(SystemExit):
            parse([name, "--help"])
        shown = re.sub(r" \\\n +", " ", capsys.readouterr().out)
        examples = re.findall(
            rf"^(?:  |Example: )finishlog ((?:--log \S+ )?{name}\b.*?)(?:  .*)?$", shown, re.M
        )
        assert examples, name
        for example in examples:
            parse(shlex.split(example))


def test_pictures_are_there() -> None:
    named = set(re.findall(r"\.pictures/([\w.-]+)", README))
    assert named == {picture.name for picture in (ROOT / ".pictures").iterdir()}


def test_the_contributor_guide_names_files_that_are_there() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text()
    named = re.findall(r"`((?:finishlog|migrations|tests|seed_demo)/[\w/.]*)`", guide)
    assert len(named) > 20
    assert [path for path in named if not (ROOT / path).exists()] == []
