"""Color: the curve, the strip of a job, how good we were, the joint of a plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

import pytest

from finishlog.desk.color import words
from finishlog.errors import LogError
from finishlog.records.color import (
    ColorPoint,
    ColorReading,
    ColorTrack,
    Gate,
    HeldOn,
    HowGood,
    JobColor,
    Odds,
    SealedLook,
    Tried,
)
from finishlog.records.log import Reading, Shape
from finishlog.records.plan import PlanRequest
from finishlog.tui.color import how_good, paint
from finishlog.tui.color.screen import ColorScreen
from finishlog.tui.desks.color import Ahead, ColorView, DayLook, GoodView, Joint, TrackView
from finishlog.tui.desks.views import JobView, Look, PlanView
from finishlog.tui.jobs import strip
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.match import paint as match_paint
from finishlog.tui.paint.theme import Depth
from finishlog.tui.screens.failure import Failure

Open = Callable[..., Any]
POURED = date(2026, 6, 4)
SD = (1.0, 0.5, 0.5)


def point(age: float, L: float) -> ColorPoint:
    return ColorPoint(age, POURED + timedelta(days=age), (L, 5.0, 13.0), SD, 2.0)


def reading(entry: int, age: float, L: float, **more: Any) -> ColorReading:
    lab = (L, 5.0, 13.0)
    return ColorReading(entry, POURED + timedelta(days=age), age, "base", lab, SD, **more)


def level(age: float) -> float:
    return 50 + 8 * min(age, 45) / 45


def track(name: str = "field", **more: Any) -> ColorTrack:
    return ColorTrack(
        name, None, "base",
        (
            reading(1, 1, 50.5, in_curve=True),
            reading(2, 5, 44.0, damp=True),
            reading(3, 7, 52.0, in_curve=True, apart=True),
            reading(4, 9, 55.0, sealed=True),
        ),
        tuple(point(age, level(age)) for age in range(61)),
        tuple((float(age), (level(age), 5.0, 13.0), SD) for age in (0, 1, 7, 14, 28, 45, 60)),
        point(12, level(12)), point(45, 58), date(2026, 7, 19), date(2026, 7, 2),
        SealedLook(point(45, 52), 4), None, 11, ("Entry 3, day 7, stands apart from the curve.",),
    )  # fmt: skip


SENTENCE = "Still drying lighter. Compare it from Jul 2; final color about Jul 19."


def track_view(name: str = "field") -> TrackView:
    days = tuple(
        DayLook(age, level(age), 1.6, f"#8a{70 + age % 20:02d}60", "light grayish brown") for age in range(61)
    )
    return TrackView(track(name), name, SENTENCE, days, "Learned from 38 jobs of yours, 11 of this recipe.")


def color_view(*names: str) -> ColorView:
    tracks = tuple(track_view(name) for name in names)
    found = JobColor("x", "X", POURED, 12.0, tuple(one.track for one in tracks), 38, 1.0, "cure-1")
    return ColorView(found, tracks)


HELD = (HeldOn(7, 9, 20, 18, 19, 20, 18, 1.2), HeldOn(28, 3, 4, 4, 3, 4, 4, 0.9))
FOUND = HowGood(Tried(40, 36, 1.2), HELD, 38)
GOOD = GoodView(FOUND, "Of 40 ranges 36 held; 9 in 10 should.", (), (words.HELD_HEAD, *words.held_rows(FOUND)),
                (words.HELD_NOTE,))  # fmt: skip
AHEAD = Ahead(
    (
        DayLook(14, 55, 2, "#a08070", "brown"),
        DayLook(28, 57, 2, "#a48474", "brown"),
        DayLook(45, 58, 2, "#a68676", "brown"),
    ),
    sentence=SENTENCE,
)


@pytest.fixture
def desks(fake: Any) -> Any:
    """The invented shop, its first slab twelve days old."""

    @dataclass
    class Colored(fake.desks):  # type: ignore[misc, name-defined]
        view: ColorView = field(default_factory=lambda: color_view("field", "border"))
        wrong: Exception | None = None

        def job(self, handle: str) -> JobView:
            found = super().job(handle)
            return replace(found, page=replace(found.page, age_days=12), looks=found.looks[:3])

        def color(self, handle: str) -> ColorView:
            self._pass(f"color {handle}")
            return self.view

        def ahead(self, handle: str) -> Ahead:
            if self.wrong is not None:
                raise self.wrong
            return AHEAD

        def keep_forecast(self, handle: str) -> str:
            self._pass(f"keep {handle}")
            return handle

        def how_good(self) -> GoodView:
            return GOOD

    return Colored()


async def test_c_opens_the_curve_with_its_answer(open_app: Open, desks: Any) -> None:
    async with open_app(desks=desks) as stage:
        await stage.press("enter", "c")
        assert isinstance(stage.app.screen, ColorScreen)
        assert stage.rows[2].strip().startswith("Color · Puddlecombe · back patio · field")
        assert stage.rows[2].rstrip().endswith("12 days old")
        assert SENTENCE in stage.rows[3]
        assert "lighter" in stage.text
        assert "darker" in stage.text
        assert stage.row("  day  ").split() == [
            "day",
            "1",
            "7",
            "today",
            "21",
            "28",
            "day",
            "45,",
            "final",
            "color",
        ]
        assert "L* at 45 days 58 ± 2 (9 in 10)" in stage.text


async def test_left_and_right_tell_how_a_day_will_look(open_app: Open, desks: Any) -> None:
    async with open_app(desks=desks) as stage:
        await stage.press("enter", "c", "right")
        assert "day 13: light grayish brown, L* 52 ± 2" in stage.text
        await stage.press(*["left"] * 16)
        assert "day 0:" in stage.text
        await stage.press("escape")
        assert isinstance(stage.app.screen, ColorScreen)
        assert "day 0:" not in stage.text
        await stage.press("escape")
        assert isinstance(stage.app.screen, JobScreen)


async def test_tab_goes_to_the_next_area_and_round(open_app: Open, desks: Any) -> None:
    async with open_app(desks=desks, size=(120, 36)) as stage:
        await stage.press("enter", "c", "tab")
        assert "· border" in stage.rows[2]
        await stage.press("tab")
        assert "· field" in stage.rows[2]


async def test_damp_and_sealed_readings_are_named_and_not_plotted(open_app: Open, desks: Any) -> None:
    async with open_app(desks=desks, size=(120, 36)) as stage:
        await stage.press("enter", "c")
        assert "set aside: damp" in stage.row("day 5 ")
        assert "set aside: sealed" in stage.row("day 9 ")
        assert "L* 52 ± 2  apart" in stage.row("day 7   L*")
        assert sum(row[:86].count("●") for row in stage.rows[4:]) == 2 + 1  # and the one of the legend
        assert "38 jobs of yours, 11 of this" in stage.text
        assert "Jul 2 2026; final color" in stage.text


async def test_s_keeps_the_forecast_and_l_logs_a_reading(open_app: Open, desks: Any) -> None:
    async with open_app(desks=desks) as stage:
        await stage.press("enter", "c", "s")
        assert "keep puddlecombe-patio" in desks.asked
        assert "Forecast saved." in stage.toast()


async def test_enter_tells_how_good_we_were(open_app: Open, desks: Any) -> None:
    async with open_app(desks=desks) as stage:
        await stage.press("enter", "c", "enter")
        assert "Of 40 ranges 36 held; 9 in 10 should." in stage.rows[3]
        assert "●" * 36 + "×" * 4 in stage.text
        assert " ".join(stage.row("   7 ").split()) == "7 9 20 18 90 % 18 90 % 19 95 % 20 100 %"
        assert " ".join(stage.row("  28 ").split()) == "28 3 4 4 4 3 4 too few"
        await stage.press("escape")
        assert isinstance(stage.app.screen, ColorScreen)


async def test_a_job_of_which_nothing_is_known_says_so(open_app: Open, desks: Any) -> None:
    bare = replace(track_view(), days=(), sentence="No color was read yet. Nothing to forecast from.")
    empty = replace(bare.track, readings=(), forecast=(), band=(), today=None, final=None)
    desks.view = ColorView(color_view().found, (replace(bare, track=empty),))
    async with open_app(desks=desks) as stage:
        await stage.press("enter", "c")
        assert "No color was read yet." in stage.rows[3]
        assert "None yet." in stage.text
        assert "lighter" not in stage.text
        await stage.press("right")
        assert "day 13" not in stage.text


async def test_a_color_that_cannot_be_read_is_a_dialog(open_app: Open, desks: Any) -> None:
    async with open_app(desks=desks) as stage:
        await stage.press("enter")
        desks.failing = LogError("The log is locked.", "Another program writes to it.", "Try again.")
        await stage.press("c")
        assert isinstance(stage.app.screen, Failure)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 36)])
async def test_the_whole_curve_is_on_the_first_page(
    open_app: Open, desks: Any, size: tuple[int, int]
) -> None:
    async with open_app(desks=desks, size=size) as stage:
        await stage.press("enter", "c")
        for word in ("lighter", "darker", "today", "9 in 10 end inside"):
            assert word in stage.text
        assert all(len(row) == size[0] for row in stage.rows)


# the strip of a job


async def test_the_strip_of_a_young_job_goes_on_into_the_forecast(open_app: Open, desks: Any) -> None:
    async with open_app(desks=desks) as stage:
        await stage.press("enter")
        assert stage.row("day 1 ").split() == [
            "day", "1", "day", "3", "day", "7", "day", "14", "day", "28", "final", "color",
        ]  # fmt: skip
        rail = stage.row("○")
        assert (rail.count("●"), rail.count("○")) == (3, 3)
        assert "─" not in rail[rail.index("○") :]
        assert "○ forecast" in stage.text
        assert SENTENCE in stage.rows[3]


async def test_a_forecast_that_fails_leaves_the_job_as_it_is(open_app: Open, desks: Any) -> None:
    desks.wrong = LogError("The log is locked.", "", "")
    async with open_app(desks=desks) as stage:
        await stage.press("enter")
        assert isinstance(stage.app.screen, JobScreen)
        assert "read by hand, dry, bare" in stage.text
        assert "○" not in stage.text


@pytest.mark.parametrize("depth", ["full", "gray"])
def test_forecasts_are_shorter_and_stand_apart(fake: Any, depth: Depth) -> None:
    view = fake.job_view(fake.lines[0])
    young = replace(view, looks=view.looks[:3])
    upper, lower, *_ = strip.strip(young, AHEAD, 76, 2, depth, True, figures=False)
    assert lower.pieces[0].text == upper.pieces[0].text
    assert all("█" not in piece.text for piece in lower.pieces[3:])
    assert {piece.text for piece in lower.pieces[3:]} <= {" ", "▀" * 11, " " * 11}
    assert not any(piece.back for piece in lower.pieces[3:])


def test_without_colors_the_strip_tells_the_lightness_of_each_look(fake: Any) -> None:
    view = fake.job_view(fake.lines[0])
    young = replace(view, looks=view.looks[:3])
    rows = [line.text for line in strip.strip(young, AHEAD, 76, 4, "glyphs", True, figures=True)]
    assert rows[0].split()[::2] == ["L*"] * 6
    assert [int(level) for level in rows[0].split()[1::2]] == [
        round(level) for level in (*(look.reading.L for look in young.looks), *(one.L for one in AHEAD.looks[-3:]))
    ]  # fmt: skip
    assert rows[1].startswith("● ")
    assert not set("".join(rows)) & set("░▒▓█▀▄")


@pytest.mark.parametrize("width", [44, 58, 76, 116])
@pytest.mark.parametrize("ages", [(45,), (45, 60), (45, 180, 365, 400, 730, 1100, 1460), (None, 45)])
def test_a_sealed_look_says_sealed_and_its_age_at_every_width(
    fake: Any, width: int, ages: tuple[int | None, ...]
) -> None:
    view = fake.job_view(fake.lines[0])
    sealed = replace(view.looks[0].reading, sealed=True)
    looks = tuple(replace(view.looks[0], reading=sealed, age_days=age) for age in ages)
    rows = [
        line.text
        for line in strip.strip(replace(view, looks=looks), None, width, 2, "full", True, figures=False)
    ]
    days = next(row for row in rows if "sealed " in row)
    assert "…" not in days
    assert "sealed day" not in days
    if ages[0] is not None:
        assert days.startswith("sealed 45")
    assert days.count(" sealed ") == days.count("sealed") - 1
    assert len(days) <= width


def test_without_readings_the_strip_says_what_it_is(fake: Any) -> None:
    unread = replace(fake.job_view(fake.lines[0]), looks=())
    lines = strip.strip(unread, AHEAD, 76, 2, "full", True, figures=False)
    assert lines[-1].text == strip.UNREAD
    assert "●" not in "".join(line.text for line in lines)


def test_only_the_first_area_is_in_the_strip(fake: Any) -> None:
    view = fake.job_view(fake.lines[0])
    main, border = (replace(view.looks[0], area=uid, age_days=age) for uid, age in (("a1", 2), ("b1", 4)))
    text = "".join(
        line.text
        for line in strip.strip(replace(view, looks=(main, border)), None, 76, 2, "full", True, figures=False)
    )
    assert "day 2" in text
    assert "day 4" not in text


# the joint of a plan


def odds(verdict: str = "close: pour a sample first", probability: float = 0.71) -> Odds:
    return Odds(
        probability, 0.8, 2.0, "job_scatter", (("job_scatter", 0.7),), date(2026, 7, 28), 2.4, verdict, (),
        ("pour a sample",), 38, 11,
    )  # fmt: skip


def planned(fake: Any, found: Odds | None, joint: Joint | None) -> PlanView:
    request = PlanRequest(reference="puddlecombe-patio", shapes=(Shape(1, "rect", "20x12"),), depth="4 in")
    view = fake.job_view(fake.lines[0])
    plan = replace(fake.plan_for(request, view), odds=found)
    base = Look(Reading(62, 4.5, 16), 398, date(2025, 6, 18), "#a9927a", "light grayish yellowish brown")
    return PlanView(plan, base, None, joint)


JOINT = Joint("#a9927a", "#ae977f", "light grayish yellowish brown", "a touch lighter, same color", False, 45)


@pytest.mark.parametrize(
    ("verdict", "said", "tone"),
    [
        ("should match", "Should match. 7 in 10 that nobody sees the joint.", "ok"),
        (
            "close: pour a sample first",
            "Close: pour a sample first. 7 in 10 that nobody sees the joint.",
            "warn",
        ),
        ("don't promise a match", "Don't promise a match. 7 in 10 that nobody sees the joint.", "warn"),
        (
            "cannot tell yet, photograph again at day 14",
            "Cannot tell yet: photograph again at day 14.",
            "bad",
        ),
    ],
)
def test_the_odds_are_said_in_words(fake: Any, verdict: str, said: str, tone: str) -> None:
    assert match_paint.verdict(planned(fake, odds(verdict), JOINT).plan) == (said, tone)


def test_without_odds_the_answer_is_what_to_order(fake: Any) -> None:
    plan = planned(fake, None, None).plan
    assert match_paint.verdict(plan) == (plan.sentence, "text")


@pytest.mark.parametrize("depth", ["full", "gray", "glyphs"])
@pytest.mark.parametrize("width", [58, 76, 116])
def test_old_and_new_touch_in_one_state_with_a_caption_in_words(fake: Any, width: int, depth: Depth) -> None:
    lines = match_paint.joint(planned(fake, odds(), JOINT), width, 3, depth, True)
    text = " ".join(line.text for line in lines)
    assert text.count("bare") == 2
    assert "a touch lighter, same color" in text
    assert "wanted" not in text
    if depth != "glyphs":
        assert all(line.width == width for line in lines[:4])
    if depth == "full":
        sides = "".join(piece.tone + piece.back for piece in lines[1].pieces).split("rule")
        assert ["#a9927a" in side for side in sides] == [True, False]
        assert ["#ae977f" in side for side in sides] == [False, True]


def test_a_sealed_slab_is_shown_beside_a_sealed_one(fake: Any) -> None:
    view = planned(fake, odds(), replace(JOINT, sealed=True))
    assert view.base is not None
    view = replace(view, base=replace(view.base, reading=replace(view.base.reading, sealed=True)))
    assert match_paint.joint(view, 76, 3, "full", True)[0].text.count("sealed") == 2


def test_where_nothing_is_known_the_new_slab_is_shown_as_it_is_wanted(fake: Any) -> None:
    lines = match_paint.joint(planned(fake, None, None), 76, 3, "full", True)
    assert lines[0].text.endswith("NEW wanted, like the old")
    assert lines[-1].text.endswith("a sample decides")


def test_the_new_slab_is_no_forecast_while_a_sample_is_needed(fake: Any) -> None:
    """Behind a closed gate the colors that the odds expect are no promise: no word of likeness."""
    view = planned(fake, odds(), JOINT)
    view = replace(view, plan=replace(view.plan, gate=Gate("closed", ("lots",))))
    said = [line.text for line in match_paint.joint(view, 76, 3, "full", True)]
    assert said[0].endswith("NEW wanted, like the old")
    assert said[-1].endswith("a sample decides")
    assert JOINT.compared not in "".join(said)
    painted = [p for line in match_paint.joint(view, 76, 3, "full", True) for p in line.pieces]
    assert not any(JOINT.new_hex in (piece.tone, piece.back) for piece in painted)
    opened = replace(view, plan=replace(view.plan, gate=Gate("sample", ("lots",), sample=12)))
    assert JOINT.compared in match_paint.joint(opened, 76, 3, "full", True)[-1].text


def test_percent_limit_and_jobs_stand_in_the_last_line_alone(fake: Any) -> None:
    *others, last = match_paint.odds_block(planned(fake, odds(), JOINT).plan, 116)
    assert last.text == "71 % under ΔE00 2.0; 9 in 10 within 2.4; learned from 38 jobs, 11 of this recipe"
    assert {piece.tone for piece in last.pieces} == {"muted"}
    assert not any("%" in line.text or "ΔE" in line.text for line in others)


def test_the_days_under_the_axis_never_touch() -> None:
    view = color_view("field")
    for age in (0.5, 6.8, 12.0, 27.0, 40.0, 44.9, 59.0):
        found = replace(view.found, age_days=age)
        lines = paint.curve(found, view.tracks[0], 60, 8, "full", True, None)
        row = next(line.text for line in lines if line.text.strip().startswith("day"))
        assert "today" in row.split()
        assert ("final" in row.split()) == (age < 40 or age > 50)
        assert row.count("28") == (age != 27.0)


def test_an_old_slab_shows_its_final_color_and_beside_it_what_it_is_now() -> None:
    """Final color is that of day 45, whatever the slab's age; of a young one only the curve tells."""
    view = track_view()
    assert view.track.today is not None
    later = replace(view.track.today, age_days=700.0, lab=(61.0, 5.0, 11.0))
    view = replace(view, track=replace(view.track, today=later))
    found = color_view("field").found
    text = "\n".join(line.text for line in paint.facts(replace(found, age_days=700.0), view, 76))
    final, now = text.index("Final color, day 45"), text.index("Now, with the weather since")
    assert "L* 58 ± 2" in text[final:now]
    assert "L* 61 ± " in text[now:]
    assert text[final:].count("(9 in 10)") == 2
    young = "\n".join(line.text for line in paint.facts(found, view, 76))
    assert "Now" not in young


def test_each_view_of_a_color_says_what_plus_or_minus_is() -> None:
    view = track_view()
    found = color_view("field").found
    for day in (None, 20):
        for width in (60, 120):
            text = "\n".join(line.text for line in paint.curve(found, view, width, 8, "full", True, day))
            assert text.count("±") == text.count("9 in 10") - (day is None and width > 80) == 1


def test_nothing_to_judge_by_is_said() -> None:
    nothing = GoodView(HowGood(Tried(0, 0, None), (), 0), "Nothing to judge yet.")
    assert "None checked" in "".join(line.text for line in how_good.by_day(nothing, 76))
    assert "None checked" in "".join(line.text for line in how_good.tried("Kept", Tried(0, 0, None), 76))


def test_readings_stand_by_age_each_with_its_spot() -> None:
    view = track_view()
    readings = (
        reading(7, 28, 57.0, in_curve=True),
        replace(reading(8, 27, 54.0), spot="field"),
        replace(reading(9, 26, 44.0, damp=True), spot="field"),
        reading(6, 1, 50.5, in_curve=True),
        reading(5, 107, 2.0, apart=True),
    )
    shown = replace(view, track=replace(view.track, readings=readings))
    lines = [line.text.rstrip() for line in paint.facts(color_view("field").found, shown, 40)]
    assert lines[2:7] == [
        "day 1   L* 50 ± 2", "day 26  set aside: damp  field", "day 27  L* 54 ± 2  field", "day 28  L* 57 ± 2",
        "day 107 L* 2 ± 2  apart",
    ]  # fmt: skip
