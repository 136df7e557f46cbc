"""What was learned once is found again, exactly, and a file that is not ours is never trusted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from finishlog import paths
from finishlog.desk.color import remembered as module
from finishlog.desk.color.remembered import remembered


@dataclass(frozen=True, slots=True)
class Part:
    """A part of an answer."""

    values: np.ndarray
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Whole:
    """An answer."""

    number: float
    told: dict[str, dict[str, tuple[np.ndarray, ...]]]
    part: Part | None = None


@pytest.fixture(autouse=True)
def _always_worth_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "WORTH_S", -1.0)


def _counted(calls: list[int]) -> Callable[[], Whole]:
    def learn() -> Whole:
        calls.append(1)
        told = {"toast": {"a/1": (np.array([[0.1, 1 / 3], [2e-300, -0.0]]), np.zeros((0, 3)))}}
        return Whole(0.1 + 0.2, told, Part(np.array([1.0, np.pi]), ("x", "y")))

    return learn


def _ask(calls: list[int], of: object = "rows") -> Whole:
    return remembered("test", Whole, of, _counted(calls), (Part,))


def test_it_comes_back_exactly_and_is_learned_once() -> None:
    calls: list[int] = []
    first, second = _ask(calls), _ask(calls)
    assert len(calls) == 1
    assert second.number == first.number
    assert second.part is not None
    assert second.part.words == ("x", "y")
    for one, other in zip(first.told["toast"]["a/1"], second.told["toast"]["a/1"], strict=True):
        assert one.shape == other.shape
        assert one.tobytes() == other.tobytes()


def test_other_rows_are_learned_anew() -> None:
    calls: list[int] = []
    _ask(calls), _ask(calls, "other rows")
    assert len(calls) == 2


@pytest.mark.parametrize("text", ["", "{", "[]", '{"part":"Path","of":{}}', '{"part":"Whole","of":{"no":1}}'])
def test_a_file_that_is_no_answer_only_costs_the_learning(text: str) -> None:
    calls: list[int] = []
    _ask(calls)
    (place,) = (paths.cache_folder() / "learned").glob("*.json")
    place.write_text(text, encoding="utf-8")
    assert _ask(calls).number == 0.1 + 0.2
    assert len(calls) == 2


def test_a_folder_that_cannot_be_written_costs_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "a file"
    blocked.write_text("")
    monkeypatch.setattr(paths, "cache_folder", lambda: blocked)
    calls: list[int] = []
    assert _ask(calls).number == 0.1 + 0.2


def test_only_the_newest_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_FILES", 3)
    calls: list[int] = []
    for number in range(6):
        _ask(calls, number)
    held = list((paths.cache_folder() / "learned").iterdir())
    assert len(held) == 3
    assert all(one.stat().st_mode & 0o077 == 0 for one in held)
