"""README says what is true: its commands run, and print what it shows."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

import finishlog

ROOT = Path(finishlog.__file__).parent.parent
README = (ROOT / "README.md").read_text()


def blocks() -> list[str]:
    return re.findall(r"^```console\n(.*?)^```", README, re.M | re.S)


def steps(block: str) -> list[tuple[str, list[str]]]:
    """Each command with the lines shown under it; `...` stands for any others."""
    return [
        (step.split("\n", 1)[0], [line for line in step.split("\n")[1:] if line.strip() and line != "..."])
        for step in block.split("$ ")[1:]
    ]


def test_the_tour_runs_as_written(tmp_path: Path) -> None:
    assert len(blocks()) == 7
    env = {
        **os.environ,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "HOME": str(tmp_path),
        "FINISHLOG_NOW": "2026-06-16T07:40:00-05:00",
    }
    for command, shown in (step for block in blocks() for step in steps(block)):
        ran = subprocess.run(command, shell=True, cwd=tmp_path, env=env, capture_output=True, text=True)
        assert ran.returncode == 0, (command, ran.stderr)
        for line in shown:
            assert line.removesuffix("...").rstrip() in ran.stdout, command


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
    for picture in re.findall(r"!\[.*?\]\((.*?)\)", README):
        assert (ROOT / picture).is_file()


def test_the_contributor_guide_names_files_that_are_there() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text()
    named = re.findall(r"`((?:finishlog|migrations|tests|seed_demo)/[\w/.]*)`", guide)
    assert len(named) > 20
    assert [path for path in named if not (ROOT / path).exists()] == []
