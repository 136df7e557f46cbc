"""Customers' names, phones and addresses stand in what is written: only its owner may read it, whatever the umask."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from finishlog import paths, settings
from finishlog.settings import Machine
from tests.desk.photo_making import jpeg

JOB = "mumblethorpe-porch"
WRITERS = {
    "sheet": ("sheet", JOB, "history", "--pdf", "a.pdf"),
    "care": ("care", "--by", "2030-01-01", "--csv", "care.csv", "--ics", "care.ics", "--letters", "care.pdf"),
    "mail": ("care", "--by", "2030-01-01", "--mail", "drafts"),
    "label": ("shelf", "label", "Moth Pocket", "--pdf", "label.pdf"),
    "export": ("export", "out"),
    "backup": ("backup", "copy.finishlog"),
    "photo": ("photo", JOB, "slab.jpg", "--taken", "unknown"),
    "template": ("import", "--template", "sheet.csv"),
    "new": ("new", "new.finishlog"),
}


@pytest.fixture(autouse=True)
def open_to_all() -> Iterator[None]:
    old = os.umask(0)
    yield
    os.umask(old)


def written(folder: Path) -> dict[str, str]:
    """The mode of each file and folder in it; the folders of the cache are named by hashes alone."""
    found = [
        path for path in folder.rglob("*") if path.is_file() or not path.is_relative_to(folder / "cache")
    ]
    return {str(path.relative_to(folder)): oct(path.stat().st_mode & 0o777) for path in found}


@pytest.mark.parametrize("kind", WRITERS)
def test_what_a_command_writes(
    finishlog: Any, demo: str, tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "slab.jpg").write_bytes(jpeg())
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    before = written(tmp_path)
    ran = finishlog("--log", demo, *WRITERS[kind])
    assert ran.status == 0, ran
    made = {name: mode for name, mode in written(tmp_path).items() if name not in before}
    assert made
    loose = {name: mode for name, mode in made.items() if mode not in ("0o600", "0o700")}
    assert loose == {}


def test_the_settings_of_this_machine(tmp_path: Path) -> None:
    where = paths.settings_file()
    settings.write(where, Machine())
    assert where.stat().st_mode & 0o077 == 0


def test_a_log_that_is_there_keeps_its_mode(finishlog: Any, demo: str) -> None:
    """Who shares a log with a partner does not lose it without a word."""
    os.chmod(demo, 0o660)
    assert finishlog("--log", demo, "record", JOB, "note", "--note", "wet").status == 0
    assert Path(demo).stat().st_mode & 0o777 == 0o660
