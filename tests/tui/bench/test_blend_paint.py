"""How a blend is painted: both colors in one row, doses in columns, the ladder in a row."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from finishlog.desk.blend.blend import BlendAnswer, Found, Rung
from finishlog.desk.blend.words import sentence
from finishlog.records.quantities.cautions import Caution
from finishlog.tui.bench.blend import Colored, ladder, wanted_and_expected
from finishlog.tui.desks.photo import BlendView

FOUND = Found(
    {"Wednesday Toast": 3.58, "Sleepy Brick": 0.68, "Mole at Noon": 0.0},
    {"Wednesday Toast": 20.19, "Sleepy Brick": 3.84, "Mole at Noon": 0.0},
    (58.0, 9.0, 17.0), (0.3, 0.2, 0.2), 0.2, 0.9, 10.0, 8.0,
)  # fmt: skip
RUNGS = tuple(Rung(factor, FOUND.doses, (58.0, 9.0, 17.0)) for factor in (0.8, 0.9, 1.0, 1.1, 1.2))
ANSWER = BlendAnswer(
    (58.0, 9.0, 17.0), "in reach", "Pour it.", FOUND, RUNGS, 0, (), (), 9, None, Fraction(564), True,
    (Caution("blend", "Same cement as the job."),), ("a source",),
)  # fmt: skip
HEX = ("#a98f78", "#a68c75", "#a38972", "#a0866f", "#9d836c")
VIEW = BlendView(ANSWER, ("#a38972", "light brown"), ("#a48a73", "light brown"), "alike", HEX)


def backs(line: Any) -> list[tuple[str, int]]:
    return [(piece.back, len(piece.text)) for piece in line.pieces if piece.back]


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (ANSWER, "9 in 10 within ΔE00 0.9. Pour the ladder first."),
        (replace(ANSWER, ladder_read=3), "9 in 10 within ΔE00 0.9. Pour one more sample at it."),
        (
            replace(ANSWER, verdict="more pigment no longer changes it"),
            "9 in 10 within ΔE00 0.9. More pigment no longer changes it.",
        ),
        (
            replace(ANSWER, verdict="out of reach"),
            "Out of reach. The closest is ΔE00 0.2 from the wanted color.",
        ),
        (replace(ANSWER, found=None), "Cannot tell: the samples do not show what these pigments do."),
    ],
)
def test_the_headline_says_how_sure_and_what_to_do(answer: BlendAnswer, said: str) -> None:
    assert sentence(answer) == said


def test_wanted_and_expected_stand_in_one_row_with_a_cut_between() -> None:
    (line,) = wanted_and_expected(VIEW, 76, "full", True)
    assert backs(line) == [("#a38972", 8), ("#a48a73", 8)]
    assert line.text.split() == ["wanted", "║", "expected", "light", "brown,", "alike"]
    out = replace(VIEW, answer=replace(ANSWER, verdict="out of reach"))
    assert "nearest" in wanted_and_expected(out, 76, "full", True)[0].text
    unknown = wanted_and_expected(replace(VIEW, reached=None), 76, "full", True)[0]
    assert backs(unknown) == [("#a38972", 8)]
    assert "········ not known" in unknown.text


def test_without_colors_both_are_told_by_name_and_lightness() -> None:
    rows = [line.text for line in wanted_and_expected(VIEW, 76, "glyphs", True)]
    assert rows == ["wanted      light brown, L* 59", "expected    light brown, L* 59; alike"]
    assert ladder(VIEW, 76, "glyphs", True).text == (
        "Ladder ×0.8 L* 61  ×0.9 L* 60  ×1 L* 59  ×1.1 L* 58  ×1.2 L* 57"
    )


@pytest.mark.parametrize("width", [46, 58, 76])
def test_the_ladder_shows_every_rung_at_every_width(width: int) -> None:
    line = ladder(VIEW, width, "full", True)
    assert [back for back, _ in backs(line)] == list(HEX)
    assert line.width <= width
    assert "…" not in line.text


@pytest.mark.parametrize("width", [46, 58, 76])
def test_the_doses_stand_in_columns_without_what_it_takes_none_of(width: int) -> None:
    rows = [line.text for line in Colored(VIEW, "us")(width, "full", True)]
    toast = next(row for row in rows if row.startswith("Wednesday Toast"))
    brick = next(row for row in rows if row.startswith("Sleepy Brick"))
    assert toast == "Wednesday Toast  3.58 %  20.19 lb/yd³"
    assert brick == "Sleepy Brick     0.68 %   3.84 lb/yd³"
    assert not any(row.startswith("Mole at Noon") for row in rows)
    assert all(len(row) <= width for row in rows)
