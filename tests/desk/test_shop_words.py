"""The words of the shop: kept in the log, checked, filled in."""

from __future__ import annotations

import pytest

from finishlog.errors import InputError
from finishlog.records.shop_texts import TEXTS

BY_KEY = {text.key: text for text in TEXTS}


@pytest.mark.parametrize("text", TEXTS, ids=lambda text: text.key)
def test_every_default_can_be_read_again(text: object) -> None:
    assert text.read(text.default) == text.default  # type: ignore[attr-defined]


@pytest.mark.parametrize("bad", ["a\x1bb", "a\nb", "\x9b", "a\u2028b"])
def test_control_characters_are_refused(bad: str) -> None:
    with pytest.raises(InputError, match="control character"):
        BY_KEY["shop_name"].read(bad)


def test_too_long_is_refused() -> None:
    with pytest.raises(InputError, match="too long"):
        BY_KEY["shop_name"].read("x" * 81)


def test_a_hole_that_is_none_is_refused_with_those_there_are() -> None:
    with pytest.raises(InputError) as refused:
        BY_KEY["letter_body"].read("Dear {costumer}")
    assert "{costumer}" in refused.value.title
    assert "{customer}" in refused.value.cause


def test_holes_are_filled_and_other_braces_stay() -> None:
    text = BY_KEY["letter_greeting"]
    assert text.filled("", customer="Ada {due} Quagmire", due="May") == "Dear Ada {due} Quagmire,"
    assert text.filled("{customer} {odd}", customer="Ada") == "Ada {odd}"
