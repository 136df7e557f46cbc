"""The house's own rules: one way only, nothing heavy on a light path, nothing made at import."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from functools import cache
from pathlib import Path

import pytest

import finishlog
from tests import house

ROOT = Path(finishlog.__file__).parent
HEAVY = ("sqlalchemy", "alembic", "textual", "colour", "scipy", "numpy", "pydantic")


def loaded(code: str) -> set[str]:
    """The heavy libraries that a clean interpreter has loaded after running the code."""
    tail = f"\nimport sys; print('LOADED', *[m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code + tail], capture_output=True, text=True, check=True)
    return set(done.stdout.rsplit("LOADED", 1)[1].split())


@pytest.mark.parametrize(
    "argv",
    [
        ["dose", "--yards", "6.75", "--percent", "4", "--cement", "564", "--json"],
        ["yards", "--rect", "24x18", "--depth", "4in", "--no-history"],
        ["film", "--area", "445 ft2", "--coverage", "225", "--solids", "25"],
        ["weather", "--air", "80F", "--concrete", "87F", "--humidity", "50", "--wind", "12mph", "--json"],
    ],
)
def test_a_computing_command_loads_nothing_heavy(argv: list[str]) -> None:
    assert loaded(f"from finishlog.__main__ import main\nassert main({argv!r}) == 0") == set()


@pytest.mark.parametrize(
    ("module", "never"),
    [
        ("finishlog.tui.app", {"sqlalchemy", "alembic", "colour", "scipy", "numpy", "pydantic"}),
        ("finishlog.store", {"alembic", "textual", "colour", "scipy", "numpy"}),
        ("finishlog.color.notation.space", {"colour", "scipy"}),
        ("finishlog.desk.jobs.find", {"textual", "colour", "scipy", "numpy", "alembic"}),
    ],
)
def test_a_module_keeps_off_what_it_does_not_need(module: str, never: set[str]) -> None:
    assert not loaded(f"import {module}") & never


def test_imports_go_one_way() -> None:
    done = subprocess.run(
        [str(Path(sys.executable).with_name("lint-imports"))], cwd=ROOT.parent, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize(
    ("library", "home"),
    [
        ("textual", "tui"),
        ("sqlalchemy", "store"),
        ("alembic", "store"),
        ("colour", "color/notation/space.py"),
        ("fpdf", "papers/layout/ink.py"),
    ],
)
def test_a_library_has_one_home(library: str, home: str) -> None:
    users = {path.relative_to(ROOT).as_posix() for path in ROOT.rglob("*.py") if library in _imports(path)}
    assert users
    assert all(user.startswith(home) for user in users if not user.startswith("_migrations")), users


def test_no_giants() -> None:
    assert max(house.lengths())[0] <= 400, max(house.lengths())
    assert max(house.functions())[0] < 60, max(house.functions())


def test_no_folder_is_a_heap() -> None:
    assert {folder: count for folder, count in house.per_folder().items() if count > 15} == {}


def test_no_circle_of_imports() -> None:
    assert house.circle(house.imports()) == []


def test_a_circle_would_be_found() -> None:
    """One that a type alone closes is one too: `imports` reads those under TYPE_CHECKING and in functions."""
    graph = house.imports()
    assert "finishlog.desk.services" in graph["finishlog.papers.make"]  # for its type alone
    assert "finishlog.papers.layout.ink" in graph["finishlog.papers.make"]  # inside a function
    assert set(house.circle(graph | {"finishlog.errors": {"finishlog.wiring"}})) > {"finishlog.wiring"}


def test_all_that_is_public_says_what_it_is() -> None:
    assert house.undocumented() == []


def test_the_top_level_holds_what_the_design_has() -> None:
    project = tomllib.loads((ROOT.parent / "pyproject.toml").read_text())
    assert project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"].keys() == {
        "migrations",
        "seed_demo",
    }


@cache
def _imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(house.tree(path)):
        if isinstance(node, ast.Import):
            found |= {name.name.split(".")[0] for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.split(".")[0])
    return found


def test_no_failed_step_of_ci_is_passed_over() -> None:
    """`set -e` does not end a script at what fails on the left of &&, but for a group of its own."""
    lines = (ROOT.parent / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert "set -euo pipefail" in lines
    assert [line for line in lines if "&&" in line and not line.startswith("(")] == []
