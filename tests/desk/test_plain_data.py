"""Answers as JSON: attributes by their own names, and what differs from them said in the key."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction as F

import pytest

from finishlog.desk.plain_data import pick


@dataclass(frozen=True)
class Part:
    yards: F
    name: str = ""


@dataclass(frozen=True)
class Answer:
    share: float
    part: Part | None
    on: date = date(2026, 6, 16)
    lab: tuple[float, ...] = (58.123, 9.0)
    why: str = ""
    sure: bool = True


ANSWER = Answer(0.12345, Part(F(20, 3)))


@pytest.mark.parametrize(
    ("key", "told"),
    [
        ("share", {"share": 0.1235}),
        ("share:2", {"share": 0.12}),
        ("share_percent=share%", {"share_percent": 12.3}),
        ("part.yards", {"yards": 6.6667}),
        ("order_yd3=part.yards:1", {"order_yd3": 6.7}),
        ("on lab:1", {"on": "2026-06-16", "lab": [58.1, 9]}),
        ("why", {"why": ""}),
        ("why?", {"why": None}),
        ("sure", {"sure": True}),
        ("part", {"part": {"yards": 6.6667, "name": ""}}),
    ],
)
def test_a_key_says_what_differs_from_the_attribute(key: str, told: dict[str, object]) -> None:
    assert pick(ANSWER, key) == told


def test_what_lies_behind_nothing_is_null_and_the_order_is_that_of_the_keys() -> None:
    found = pick(Answer(0.5, None), "part.name sure", "share")
    assert list(found.items()) == [("name", None), ("sure", True), ("share", 0.5)]


def test_an_attribute_that_is_not_there_is_a_fault() -> None:
    with pytest.raises(AttributeError):
        pick(ANSWER, "shares")
    with pytest.raises(AssertionError):
        pick(ANSWER, "share:two")
