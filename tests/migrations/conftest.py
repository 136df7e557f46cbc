"""Migrations of the future, so that upgrading can be tried before there is one."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from finishlog.store.schema import revisions

RELEASED = Path(__file__).parent / "released"


@pytest.fixture
def future(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Adds a revision with this body to a copy of the migrations, which the program then uses."""
    folder = tmp_path / "migrations"
    shutil.copytree(revisions.migrations(), folder, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(revisions, "migrations", lambda: folder)
    last = [revisions.head()]

    def add(body: str) -> None:
        number = f"{int(last[-1]) + 1:04d}"
        lines = "\n".join(f"    {line}" for line in body.splitlines())
        (folder / "versions" / f"{number}_test.py").write_text(
            "import sqlalchemy as sa\nfrom alembic import op\n"
            f"revision = {number!r}\ndown_revision = {last[-1]!r}\n"
            f"def upgrade():\n{lines}\n"
        )
        last.append(number)
        revisions.known.cache_clear()

    revisions.known.cache_clear()
    yield add
    revisions.known.cache_clear()
