"""What the find box takes for a color, and what for a photo."""

from __future__ import annotations

import pytest

from finishlog.tui.desks import looking


@pytest.mark.parametrize(
    "text", ["#a9927a", " #A9927A ", "62,4,16", "62.1, -4, 16.5", "62; 4; −16", "10YR 6/3", "7.5yr 6.5/2"]
)
def test_a_color_is_seen(text: str) -> None:
    assert looking.is_color(text)


@pytest.mark.parametrize(
    "text", ["", "62 4 16", "40721", "12,4", "#a9927", "10YR", "May 6/3", "62,4,16 walk", "١,٢,٣"]
)
def test_a_scrap_is_no_color(text: str) -> None:
    assert not looking.is_color(text)


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("photo:~/slab.jpg", "~/slab.jpg"),
        (" Photo: 'old slab.jpg' ", "old slab.jpg"),
        ("photo:", ""),
        ("photos", None),
        ("a photo:x", None),
    ],
)
def test_a_photo_is_named_by_its_path(text: str, path: str | None) -> None:
    assert looking.photo_path(text) == path
