"""Measures in words, so that forms can be checked: one text for command, screen and sheets."""

from __future__ import annotations

import pytest

from finishlog.desk.shape_words import dimensions, drawn
from finishlog.records.log import Shape

YARD = (
    Shape(1, "rect", "22x16"), Shape(1, "rect", "8x3"), Shape(-1, "rect", "3x3"), Shape(-1, "rect", "4x2"),
    Shape(1, "round", "4@2"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("shapes", "us", "metric"),
    [
        (YARD, "22×16 + 8×3 − 3×3 − 4×2, 4 corners of 2 ft",
         "6.71×4.88 + 2.44×0.91 − 0.91×0.91 − 1.22×0.61, 4 corners of 0.61 m"),
        ((Shape(1, "rect", "20x12"),), "20×12 ft", "6.1×3.66 m"),
        ((Shape(1, "rect", "24'6\" x 18'"), Shape(1, "round", "1@1'6\"")), "24'6\"×18, 1 corner of 1'6\" ft",
         "7.47×5.49, 1 corner of 0.46 m"),
        ((Shape(-1, "circle", "2"), Shape(1, "rect", "6 m x 3 m")), "19'8 1/4\"×9'10 1/8\" − circle r 2 ft",
         "6×3 − circle r 0.61 m"),
        ((Shape(1, "polygon", "0,0 24,0 24,18"),), "corners 0,0 24,0 24,18 ft", "corners 0,0 7.32,0 7.32,5.49 m"),
        ((Shape(1, "rect", "9x9"), Shape(1, "edge", "40x1x8in"), Shape(1, "stairs", "3x4x7x11")),
         "9×9 ft, edge 40×1 ft, 8 in deeper, 3 steps 4 ft wide, rise 7 in, run 11 in",
         "2.74×2.74 m, edge 12.19×0.3 m, 203 mm deeper, 3 steps 1.22 m wide, rise 178 mm, run 279 mm"),
        ((Shape(1, "rect", "as the old one"),), "rect as the old one", "rect as the old one"),
        ((), "", ""),
    ],
)  # fmt: skip
def test_the_measures_from_which_an_area_came(shapes: tuple[Shape, ...], us: str, metric: str) -> None:
    assert (dimensions(shapes), dimensions(shapes, "metric")) == (us, metric)


def test_every_shape_is_drawn_with_its_measures() -> None:
    assert [one.label for one in drawn(YARD)] == [
        "22 × 16",
        "+ 8 × 3",
        "− 3 × 3",
        "− 4 × 2",
        "4 corners r 2 ft",
    ]
    assert [one.label for one in drawn((Shape(1, "circle", "5'6\""), Shape(1, "polygon", "0,0 24,0 24,18")))] == [
        "circle r 5'6\"", "+ 24 × 18 over all"]  # fmt: skip
    assert drawn((Shape(1, "rect", "as the old one"), Shape(1, "edge", "40x1x8in"))) == ()
    assert drawn((Shape(1, "edge", "40x1x8in"),)) == ()
