"""Boxes, corners and a gray card as they are typed."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.inputs import boxes


@pytest.mark.parametrize(
    ("text", "shows"),
    [
        ("base=1,2,30,40", "base"),
        (" Release = 1, 2, 30, 40", "release color"),
        ("release_color=1,2,30,40", "release color"),
        ("whole field=1,2,30,40", "field"),
        ("rinsed-spot=1,2,30,40", "rinsed"),
        ("unrinsed=1,2,30,40", "unrinsed"),
    ],
)
def test_what_a_box_shows(text: str, shows: str) -> None:
    found = boxes.read_box(text)
    assert found.shows == shows
    assert str(found.place.within(1000, 500)) == "1,2,30,40"


@pytest.mark.parametrize(
    ("text", "box"),
    [
        ("0.1,0.2,0.5,0.25", "100,100,500,125"),
        ("0,0,1,1", "0,0,1000,500"),
        ("1/3,0,1/3,1/2", "333,0,334,250"),
    ],
)
def test_fractions_are_of_the_upright_picture(text: str, box: str) -> None:
    assert str(boxes.read_gray(text).within(1000, 500)) == box


@pytest.mark.parametrize(
    "text", ["base", "base=", "sky=1,2,3,4", "base=1,2,3", "base=1,2,3,4,5", "base=1,2,-3,4", "base=1,2,0,4",
             "base=1,2,nan,4", "base=1,2,1e9,4", "base=1;2;3;4", "=1,2,3,4", "base=٣,2,3,4", "base=1,2,999999,4"],
)  # fmt: skip
def test_boxes_that_are_none(text: str) -> None:
    with pytest.raises(InputError) as refused:
        boxes.read_box(text)
    assert boxes.BOX_EXAMPLE in refused.value.line()


def test_corners_in_pixels_and_in_fractions() -> None:
    pixels = boxes.read_corners("310,220 905,236 890,640 300,618")
    assert boxes.in_pixels(pixels, 10, 10) == [(310, 220), (905, 236), (890, 640), (300, 618)]
    parts = boxes.read_corners("0.1,0.1; 0.9,0.1; 0.9,0.9; 0.1,0.9")
    assert boxes.in_pixels(parts, 1000, 500)[2] == (900, 450)


@pytest.mark.parametrize(
    "text", ["", "1,2 3,4 5,6", "1,2 3,4 5,6 7,8 9,10", "1,2 3,4 5,6 7", "a,b c,d e,f g,h"]
)
def test_corners_that_are_none(text: str) -> None:
    with pytest.raises(InputError):
        boxes.read_corners(text)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    for reader in (boxes.read_box, boxes.read_corners, boxes.read_gray):
        with suppress(InputError):
            assert reader(text)
