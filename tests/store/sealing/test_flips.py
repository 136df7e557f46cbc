"""A bit that flips in any stored value is noticed, and told in words."""

from __future__ import annotations

import random
import shutil
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from finishlog.errors import LogError
from finishlog.store import Log

sys.path.insert(0, str(Path(__file__).parent))
from flips import flip

Flipped = Callable[[int], tuple[str, tuple[str, ...]]]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory, release: Any) -> Path:
    return release.made(tmp_path_factory.mktemp("sound"))  # type: ignore[no-any-return]


@pytest.fixture
def flipped(sound: Path, tmp_path: Path) -> Flipped:
    """What check says of that log with one bit flipped: by seed."""

    def of(seed: int) -> tuple[str, tuple[str, ...]]:
        where = tmp_path / f"{seed}.finishlog"
        shutil.copy(sound, where)
        shutil.copytree(f"{sound}.files", f"{where}.files")
        said = flip(where, random.Random(seed))
        try:
            log = Log.open(where, clock=lambda: datetime(2026, 6, 16, tzinfo=UTC), new_uid=lambda: "x")
        except LogError as error:
            return said, (str(error),)
        try:
            return said, log.check().problems
        except LogError as error:
            return said, (str(error),)
        finally:
            log.close()

    return of


@pytest.mark.parametrize("seed", range(12))
def test_a_flipped_bit_is_told(flipped: Flipped, seed: int) -> None:
    said, problems = flipped(seed)
    assert problems, said


@pytest.mark.long
def test_no_flipped_bit_of_120_is_silent(flipped: Flipped) -> None:
    silent = [said for seed in range(100, 220) for said, problems in [flipped(seed)] if not problems]
    assert silent == []
