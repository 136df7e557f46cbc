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
        return said, told_of(where)

    return of


def told_of(where: Path) -> tuple[str, ...]:
    """What opening and checking a log says is wrong with it; never a traceback."""
    try:
        log = Log.open(where, clock=lambda: datetime(2026, 6, 16, tzinfo=UTC), new_uid=lambda: "x")
    except LogError as error:
        return (str(error),)
    try:
        return log.check().problems
    except LogError as error:
        return (str(error),)
    finally:
        log.close()


@pytest.mark.parametrize("seed", range(12))
def test_a_flipped_bit_is_told(flipped: Flipped, seed: int) -> None:
    said, problems = flipped(seed)
    assert problems, said


@pytest.mark.long
def test_no_flipped_bit_of_120_is_silent(flipped: Flipped) -> None:
    silent = [said for seed in range(100, 220) for said, problems in [flipped(seed)] if not problems]
    assert silent == []


def page_gone(sound: Path, where: Path, page: int, fill: bytes) -> tuple[str, ...]:
    """What is told of that log when one of its pages is overwritten."""
    data = bytearray(sound.read_bytes())
    size = int.from_bytes(data[16:18], "big")
    data[page * size : (page + 1) * size] = (fill * size)[:size]
    where.write_bytes(bytes(data))
    shutil.copytree(f"{sound}.files", f"{where}.files", dirs_exist_ok=True)
    return told_of(where)


def pages_of(log: Path) -> int:
    data = log.read_bytes()
    return len(data) // int.from_bytes(data[16:18], "big")


@pytest.mark.parametrize("part", range(6))
def test_a_damaged_page_is_told(sound: Path, tmp_path: Path, part: int) -> None:
    page = pages_of(sound) * part // 6
    assert page_gone(sound, tmp_path / "damaged.finishlog", page, b"\0"), page


@pytest.mark.long
@pytest.mark.parametrize("fill", [b"\0", b"\xff", b"7"], ids=["zeros", "ones", "sevens"])
def test_every_page_damaged_in_turn_is_told(sound: Path, tmp_path: Path, fill: bytes) -> None:
    pages = range(pages_of(sound))
    assert len(pages) > 50
    silent = [page for page in pages if not page_gone(sound, tmp_path / "damaged.finishlog", page, fill)]
    assert silent == []
