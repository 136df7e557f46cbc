"""What the desks say: chances in one wording, and what is still to come of a planned job."""

from __future__ import annotations

import pytest

from finishlog import units, wiring
from finishlog.desk import words
from finishlog.desk.color import color
from finishlog.desk.jobs import page
from finishlog.desk.placed.placed import as_placed
from finishlog.records.log import Area, Recipe, Stage, StageMaterial
from finishlog.tui.color import paint
from tests.desk.placed.test_placed import BISCUIT, ZONE, job, load


@pytest.mark.parametrize(
    ("p", "said"),
    [
        (0, "under 1 in 1000"),
        (0.003, "3 in 1000"),
        (0.045, "4 in 100"),
        (0.3, "3 in 10"),
        (0.999, "99 in 100"),
    ],
)
def test_a_chance(p: float, said: str) -> None:
    assert units.chance(p) == said


@pytest.mark.parametrize(
    ("age_h", "days", "said"),
    [
        (-0.2, None, "0 h old"),
        (14.4, 1, "14 h old"),
        (71.4, 3, "71 h old"),
        (72, None, "3 days old"),
        (251 * 24 + 20, 252, "251 days old"),
        (729 * 24 + 23, None, "729 days old"),
        (1187.6 * 24, None, "3 years old"),
        (None, 0, "poured today"),
        (None, 1, "1 day old"),
        (None, 398, "398 days old"),
    ],
)
def test_an_age(age_h: float | None, days: int | None, said: str) -> None:
    assert words.old(age_h, days) == said


def test_a_job_and_its_color_are_of_one_age(demo: str) -> None:
    built = wiring.build(demo)
    for handle in ("larkspur-breakfast-patio", "bogglethwaite-front-yard", "mumblethorpe-porch"):
        age = paint.old(color.job(built, handle).age_days)
        assert words.poured(page.lay_open(built, handle)).endswith(f", {age}")
    built.close()


def planned(rate: float, unit: str) -> list[tuple[str, str, str]]:
    stage = Stage(1, "integral_color", materials=(StageMaterial(BISCUIT, None, rate, unit),))
    area = Area("a1", "field", recipe=Recipe("r1", "finish", (stage,)))
    lines = words.placed_lines(as_placed(job(areas=(area,)), area, ZONE), planned=True)
    assert not any(line.warn or "not logged" in line.text for line in lines)
    return [(line.label, line.text, line.figure) for line in lines]


def test_a_planned_dose_is_said_and_the_rest_is_not_yet() -> None:
    lines = planned(7, "lb/yd3")
    assert lines[:3] == [
        ("Pigment", "Wet Biscuit, Loamworks", "7.00 lb/yd³"), ("", "as planned", ""), ("Concrete", "not yet", ""),
    ]  # fmt: skip
    assert {text for _, text, _ in lines[3:]} == {"not yet"}


def test_a_planned_rate_that_hangs_on_the_cement_is_said_as_written() -> None:
    assert planned(4, "%")[1] == ("", "planned: 4 % of Wet Biscuit", "")


def test_the_slump_is_the_concretes() -> None:
    area = Area("a1", "field")
    poured = as_placed(job(load(1, 4.0, slump_in=4.5), areas=(area,)), area, ZONE)
    said = {line.label: (line.text, line.figure) for line in words.placed_lines(poured)}
    assert said["Concrete"][0].endswith("4.5 in slump")
    assert "slump" not in " ".join(said["Texture"])
