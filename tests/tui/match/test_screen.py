"""Match: measures, plan, save."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, time
from fractions import Fraction
from typing import Any

import pytest

from finishlog.errors import InputError, LimitError
from finishlog.records.answers import DemoStart
from finishlog.records.log import Shape
from finishlog.records.plan import Difference, PlanRequest, PlanStage
from finishlog.records.shop import Shop
from finishlog.trade import stages
from finishlog.trade.pour import clock, joints, takeoff
from finishlog.tui import help
from finishlog.tui.desks.views import JobView, PlanView
from finishlog.tui.forms import measures
from finishlog.tui.forms.fields import Button, Field
from finishlog.tui.jobs.jobs import JobsScreen
from finishlog.tui.match.measure import MeasureScreen
from finishlog.tui.match.screen import MatchScreen
from finishlog.tui.screens.failure import Failure
from finishlog.tui.widgets import bars

Open = Callable[..., Any]
BLANK = dict.fromkeys(
    [field.key for field in measures.SHAPES]
    + ["depth", "on", "plant", "cement", "scm", "air", "lots", "name"],
    "",
)


async def test_find_to_saved_plan(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.type("/back patio")
        await stage.press("enter", "m")
        await stage.enter("20x12")
        assert "→ 240.0 ft²" in stage.row("Rectangles")
        assert "→ 240.0 ft², 2.96 yd³ neat" in stage.row("Plan it")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, MatchScreen)
        assert "draft, not saved" in stage.text
        await stage.press("s")
        assert stage.desks.saved == [None]
        assert stage.rows[2].rstrip().endswith("  saved")
        assert "Saved. Find it under Jobs as planned." in stage.text
        await stage.press("s")
        assert "already saved" in stage.rows[-1]
        assert stage.desks.saved == [None]
        assert stage.desks.requests[0].shapes == (Shape(1, "rect", "20x12"),)


async def test_two_keys_from_the_demo_to_the_plan(open_app: Open) -> None:
    async with open_app(demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m", "enter")
        assert isinstance(stage.app.screen, MatchScreen)
        assert stage.desks.requests[0].shapes == (Shape(1, "rect", "22x14"),)


async def test_the_plan_shows_order_days_differences_and_what_is_buried(open_app: Open) -> None:
    async with open_app(demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m", "enter")
        assert "Order 3.25 yd³ and 12 lb of pigment;" in stage.rows[3]
        assert "OLD  bare, Jun 2025" in stage.text
        assert "NEW  wanted, like the old" in stage.text
        assert " in 100 short; neat " in stage.row("Order  ")
        assert stage.row("Pigment ").strip() == "Pigment   18 lb 4 oz   weighed; Wet Biscuit"
        assert stage.row(" pour ─ ").strip().startswith("Tue Jun 16 pour ─ Wed rinse ─ Jul 14 seal, compare")
        assert stage.row("! Buried").strip().endswith("gas line 8 in")


@pytest.mark.parametrize("size", [(60, 20), (120, 36), pytest.param((80, 24), marks=pytest.mark.long)])
async def test_the_plan_shows_the_clock_of_the_day_and_the_joints(
    open_app: Open, fake: Any, size: tuple[int, int]
) -> None:
    class Planned(fake.desks):  # type: ignore[misc,name-defined]
        def make(self, request: Any) -> Any:
            view = super().make(request)
            shop, window = Shop.from_values({}), stages.kind("joint").window
            day = clock.PourDay(
                view.plan.on, 1, Fraction(352), released=True, stamped=True, saw=window({}, shop), rinse=None,
                start=request.start, air_f=request.air_f,
            )  # fmt: skip
            cut = joints.plan([takeoff.read_shape("rect", "22x16")], Fraction(4), shop)
            plan = replace(view.plan, request=request, joints=cut, clock=clock.clock(day, (), shop))
            return replace(view, plan=plan)

    async with open_app(size=size, desks=Planned()) as stage:
        await stage.press("escape", "m")
        await stage.fill("rect", "22x16")
        await stage.fill("start", "7a")
        await stage.fill("air", "85F")
        await stage.press("ctrl+s")
        asked = stage.desks.requests[-1]
        assert (asked.start, asked.air_f) == (time(7), 85)
        seen = top = stage.text
        for _ in range(24):
            await stage.press("enter")
            if stage.text == top:
                break
            seen += stage.text
        told = " ".join(seen.split())
        for words in ("Pour day", "Truck 1 7a", "Release on", "Hands", "Joints", "3 × 2 panels of 7' 4\" × 8' 0\"",
                      "licensed engineer", "For air of 85 °F.", "! Cut wet or with a vacuum"):  # fmt: skip
            assert words in told, words
        assert all(len(row) <= size[0] for row in stage.rows)


async def test_a_start_that_is_no_time_is_said_under_its_field(open_app: Open) -> None:
    async with open_app(size=(80, 40)) as stage:
        await stage.press("escape", "m")
        await stage.enter("20x12")
        await stage.fill("start", "7")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, MeasureScreen)
        assert "is no time of day" in stage.text


async def test_a_start_is_echoed_beside_its_field(open_app: Open) -> None:
    async with open_app(size=(80, 40)) as stage:
        await stage.press("escape", "m")
        await stage.fill("start", "7:30a")
        assert "→ 7:30a on site" in stage.row("First truck")


async def test_no_odds_of_a_match_are_invented(open_app: Open) -> None:
    async with open_app(size=(120, 36), demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m", "enter")
        assert "nobody sees" not in stage.text
        assert "Should match" not in stage.text


async def test_enter_goes_on_through_the_plan_and_back_to_its_top(open_app: Open) -> None:
    async with open_app(demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m", "enter")
        top, seen = stage.text, ""
        for _ in range(12):
            await stage.press("enter")
            seen += stage.text
            if stage.text == top:
                break
        assert stage.text == top
        for word in (
            "Loads",
            "When",
            "Tell the customer",
            "Cautions",
            "The old slab as placed",
            "Missing from the old",
        ):
            assert word in seen


async def test_escape_and_e_go_back_to_the_measures_as_they_were_typed(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "m")
        await stage.enter("20x12; 6x4")
        await stage.press("ctrl+s", "e")
        assert isinstance(stage.app.screen, MeasureScreen)
        assert "20x12; 6x4" in stage.row("Rectangles")
        await stage.press("escape", "escape")
        assert isinstance(stage.app.screen, JobsScreen)
        await stage.press("m")
        assert "20x12; 6x4" in stage.row("Rectangles")


async def test_nothing_is_called_wrong_before_its_field_is_left(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "m")
        await stage.type("20x")
        assert "!" not in stage.text
        await stage.press("tab")
        assert "! " in stage.text
        assert "Like 24 ft" in stage.text
        assert "20x" in stage.row("Rectangles")
        assert "→" not in stage.row("Rectangles")
        await stage.press("shift+tab", "end")
        await stage.type("12")
        assert "Like 24 ft" not in stage.text
        assert "→ 240.0 ft²" in stage.row("Rectangles")


async def test_plan_it_goes_to_the_first_wrong_field(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "m")
        await stage.enter("20x12")
        await stage.press("tab", "tab")
        await stage.enter("Feb 30 2027")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, MeasureScreen)
        assert "1 field to fix" in stage.text
        assert "Feb 2027 has no day 30." in stage.text
        assert stage.app.focused.parent.parent.asked.key == "on"


async def test_an_addition_without_a_size_is_said_under_the_first_field(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "m", "ctrl+s")
        assert isinstance(stage.app.screen, MeasureScreen)
        assert "The new area has no size. Like 20x12." in stage.text
        assert "--" not in stage.text
        assert stage.app.focused.parent.parent.asked.key == "rect"


def test_an_error_on_a_screen_names_no_option() -> None:
    from finishlog.tui.forms.fields import said
    from finishlog.tui.screens import failure

    no_area = InputError("No area is left.", where="--rect", example="--rect 24x18 --less-rect 3x3")
    assert said(no_area) == "No area is left. Like rect 24x18, less rect 3x3."
    assert failure.said(no_area)[0] == "No area is left."
    assert failure.said(InputError("It is wrong.", where="depth"))[0] == "depth: It is wrong."


async def test_a_limit_is_a_dialog_with_the_reason(open_app: Open, fake: Any) -> None:
    class Limited(fake.desks):  # type: ignore[misc,name-defined]
        def make(self, request: Any) -> Any:
            raise LimitError("That is 10.1 % of cement.", "The limit is 10 % (ASTM C979/C979M §1.4).")

    async with open_app(desks=Limited(), demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m", "enter")
        assert isinstance(stage.app.screen, Failure)
        assert "ASTM C979/C979M §1.4" in stage.text


async def test_what_the_desk_finds_wrong_is_said_under_its_field(open_app: Open, fake: Any) -> None:
    class Picky(fake.desks):  # type: ignore[misc,name-defined]
        def make(self, request: Any) -> Any:
            raise InputError("There is no such plant.", where="--plant", example="Lower Puddle plant")

    async with open_app(desks=Picky(), demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m", "enter")
        assert "There is no such plant. Like Lower Puddle plant." in stage.text
        assert stage.app.focused.parent.parent.asked.key == "plant"


async def test_old_facts_are_hints_never_answers(open_app: Open) -> None:
    async with open_app(demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m")
        assert "was Lower Puddle plant" in stage.row("Plant")
        await stage.press("enter")
        asked = stage.desks.requests[0]
        assert (asked.plant, asked.cement_lb_per_yd3, asked.lots) == (None, None, ())


async def test_a_slab_without_a_reading_has_no_joint_but_a_plan(open_app: Open, fake: Any) -> None:
    desks = fake.desks(lines=(fake.lines[5],))
    async with open_app(desks=desks) as stage:
        await stage.press("escape", "m")
        await stage.enter("20x12")
        await stage.press("ctrl+s")
        assert "No color read on the old slab." in stage.text
        assert "Pigment" in stage.text


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("20x12", ["20x12"]),
        ("20x12; 6x4", ["20x12", "6x4"]),
        ("20x12 + 6x4", ["20x12", "6x4"]),
        ("20x12,6x4", ["20x12", "6x4"]),
        ("24'6\" x 18', 6x4", ["24'6\" x 18'", "6x4"]),
        (" ; ", []),
    ],
)
def test_several_shapes_in_one_field(text: str, parts: list[str]) -> None:
    assert measures.several("rect", text) == parts


def test_a_comma_in_a_polygon_parts_x_and_y() -> None:
    assert measures.several("polygon", "0,0 24,0 24,18; 0,0 1,0 1,1") == ["0,0 24,0 24,18", "0,0 1,0 1,1"]


def test_the_request_holds_what_was_typed() -> None:
    values = BLANK | {
        "rect": "24x18; 6x4",
        "less_rect": "3x3",
        "round": "4@2",
        "edge": "40x1x8in",
        "depth": "4 in",
        "on": "2027-04-12",
        "plant": "Upper plant",
        "cement": "470",
        "scm": "94",
        "lots": "W-1, H-2",
        "name": "back",
    }
    asked = measures.request("job", values)
    assert [(s.sign, s.kind, s.dimensions) for s in asked.shapes] == [
        (1, "rect", "24x18"),
        (1, "rect", "6x4"),
        (-1, "rect", "3x3"),
        (1, "round", "4@2"),
        (1, "edge", "40x1x8in"),
    ]
    assert (asked.on, asked.plant, asked.name) == (date(2027, 4, 12), "Upper plant", "back")
    assert (asked.cement_lb_per_yd3, asked.scm_lb_per_yd3) == (Fraction(470), Fraction(94))
    assert asked.lots == ("W-1", "H-2")


def test_area_and_volume_of_the_worked_example() -> None:
    """24x18 + 6x4 less 3x3, four corners rounded at 2 ft, 4 in: 443.566 ft², 5.476 yd³ neat."""
    values = BLANK | {"rect": "24x18; 6x4", "less_rect": "3x3", "round": "4@2", "depth": "4in"}
    assert measures.total(values, "us") == "443.6 ft², 5.48 yd³ neat"
    assert measures.total(values, "metric") == "41.21 m², 4.19 m³ neat"


def test_a_measure_that_cannot_be_read_has_no_total() -> None:
    assert measures.total(BLANK | {"rect": "24x", "depth": "4in"}, "us") == ""
    assert measures.total(BLANK, "us") == ""


async def test_offered_text_with_invisible_characters_comes_back_as_it_was(open_app: Open, fake: Any) -> None:
    class Odd(fake.desks):  # type: ignore[misc,name-defined]
        def prepare(self, handle: str, area: str | None = None) -> Any:
            return measures_of(depth="4\u200b in")

    def measures_of(depth: str) -> Any:
        from finishlog.desk.match.plan import Measures

        return Measures("x", ("patio",), depth, "", "", "", ())

    async with open_app(desks=Odd()) as stage:
        await stage.press("escape", "m")
        field = next(f for f in stage.app.screen.query(Field) if f.asked.key == "depth")
        assert field.entry.value == "4 in"
        assert field.value == "4\u200b in"


async def test_the_button_says_when_it_has_the_focus(open_app: Open) -> None:
    async with open_app(demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m")
        assert isinstance(stage.app.focused, Button)
        assert "► Plan it" in stage.text


async def test_arrows_go_through_the_fields_and_escape_steps_out_of_them(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "m", "down")
        assert stage.app.focused.parent.parent.asked.key == "depth"
        await stage.press("up")
        assert stage.app.focused.parent.parent.asked.key == "rect"
        await stage.press("escape")
        assert isinstance(stage.app.focused, Button)
        assert isinstance(stage.app.screen, MeasureScreen)


async def test_a_field_has_its_value_before_it_is_mounted(open_app: Open) -> None:
    """Painters may run while the fields of the form are still being mounted (seen on a busy machine)."""
    async with open_app():
        field = measures.shape_spec("rect", "us")
        assert field.value == ""
        assert Field(field.asked, start="20x12").value == "20x12"


async def test_another_area_of_the_old_job_is_matched_with_its_own_depth(open_app: Open, fake: Any) -> None:
    """A job with several areas asks which; the depth that stands there is that area's."""
    from finishlog.desk.match.plan import Measures

    class Several(fake.desks):  # type: ignore[misc, name-defined]
        def prepare(self, handle: str, area: str | None = None) -> Measures:
            depth = {"steps": "6 in"}.get(area or "", "4 in")
            return Measures("Puddlecombe · back patio", ("patio", "steps"), depth, "", "", "", ())

    async with open_app(desks=Several()) as stage:
        await stage.press("escape", "m")
        assert stage.field("area").value == "patio"
        await stage.fill("rect", "10x4")
        await stage.fill("area", "steps")
        assert (stage.field("depth").value, stage.field("rect").value) == ("6 in", "10x4")
        await stage.press("ctrl+s")
        assert stage.desks.requests[-1].area == "steps"
        assert stage.desks.requests[-1].depth == "6 in"


@pytest.mark.parametrize("size", [(60, 20), pytest.param((80, 24), marks=pytest.mark.long)])
async def test_tab_after_another_area_goes_to_the_rectangles(
    open_app: Open, fake: Any, size: tuple[int, int]
) -> None:
    from finishlog.desk.match.plan import Measures

    class Several(fake.desks):  # type: ignore[misc, name-defined]
        def prepare(self, handle: str, area: str | None = None) -> Measures:
            return Measures("Puddlecombe · back patio", ("patio", "steps"), "4 in", "", "", "", ())

    async with open_app(size, desks=Several()) as stage:
        await stage.press("escape", "m")
        await stage.fill("area", "steps")
        assert stage.field("area").entry.has_focus
        await stage.press("tab")
        await stage.type("10x4")
        assert stage.field("rect").value == "10x4"
        assert stage.field("area").value == "steps"


def then(*lines: tuple[str, str, str]) -> tuple[Difference, ...]:
    return tuple(Difference(f"then_{title}", title, text, weight) for weight, title, text in lines)  # type: ignore[arg-type]


async def test_stages_and_how_it_was_that_day_stand_on_the_screen(open_app: Open, fake: Any) -> None:
    class Told(fake.desks):  # type: ignore[misc,name-defined]
        def make(self, request: PlanRequest) -> PlanView:
            view = super().make(request)
            wash = PlanStage("antiquing_wash", "Antiquing wash", ("Coats: 2",), ("Fox Ear",), ())
            amiss = then(("act", "Finishing", "finished on bleed water"), ("know", "Load 1", "4 in slump"))
            return replace(view, plan=replace(view.plan, stages=(wash,), then=amiss))

    for size in ((80, 24), (120, 60)):
        async with open_app(
            desks=Told(), size=size, demo=DemoStart("puddlecombe-patio", "22x14", "4 in")
        ) as stage:
            await stage.press("m", "enter")
            seen = [stage.text]
            for _ in range(8):
                await stage.press("enter")
                seen.append(stage.text)
            shown = "\n".join(seen)
            assert "Fox Ear; Coats: 2" in shown
            assert "! Finishing" in shown
            assert "finished on bleed water" in shown
            assert "· Load 1" in shown


async def test_the_air_is_asked_in_the_measures_and_makes_the_plan_a_cold_one(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.type("/back patio")
        await stage.press("enter", "m")
        await stage.fill("rect", "20x12")
        await stage.fill("air", "38 F")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, MatchScreen)
        assert stage.desks.requests[0].air_f == 38


async def test_the_clock_is_the_sites_while_a_job_is_open(open_app: Open, fake: Any) -> None:
    class Far(fake.desks):  # type: ignore[misc,name-defined]
        def job(self, handle: str) -> JobView:
            view = super().job(handle)
            job = replace(view.page.job, site=replace(view.page.job.site, zone="America/Chicago"))
            return replace(view, page=replace(view.page, job=job))

        def prepare(self, handle: str, area: str | None = None) -> Any:
            return replace(super().prepare(handle, area), zone="America/Chicago", today=date(2026, 6, 15))

    async with open_app(desks=Far()) as stage:
        assert "7:40a" in stage.rows[0]
        assert "at the site" not in stage.rows[0]
        await stage.type("/back patio")
        await stage.press("enter")
        assert "Tue Jun 16  2:40a at the site" in stage.rows[0]
        await stage.press("m")
        assert "2:40a at the site" in stage.rows[0]
        assert "blank: Jun 15 2026 on site" in stage.text
        await stage.press("escape", "escape", "escape")
        assert "at the site" not in stage.rows[0]


def test_a_site_whose_clock_is_the_machines_says_nothing_of_it() -> None:
    now = datetime(2026, 6, 16, 7, 40, tzinfo=UTC)
    assert bars.at_site(now, "") == (now, False)
    assert bars.at_site(now, "Etc/UTC") == (now, False)
    assert bars.at_site(now, "Nowhere/Puddle") == (now, False)
    there, other = bars.at_site(now, "Asia/Tokyo")
    assert (there.hour, other) == (16, True)
    assert "4:40p site" in bars.places("jobs", now, 62, "Asia/Tokyo").text
    assert bars.places("jobs", now, 60, "Asia/Tokyo").width <= 60


async def test_what_the_plan_knows_is_a_page_of_the_help(open_app: Open) -> None:
    async with open_app(demo=DemoStart("puddlecombe-patio", "22x14", "4 in")) as stage:
        await stage.press("m", "enter", "question_mark", "enter")
        for words in ("Help · What the plan knows", "What it knows"):
            assert words in stage.text
        assert "Keys here" not in stage.text
        await stage.press("escape", "escape")
        assert isinstance(stage.app.screen, MatchScreen)
        await stage.press("ctrl+p")
        await stage.type("plan knows")
        await stage.press("enter")
        assert "Help · What the plan knows" in stage.text
        await stage.app.run_action("app.page('knows')")
        await stage.settle()
        await stage.press("escape")
        assert isinstance(stage.app.screen, MatchScreen)


def test_the_help_says_of_each_part_of_a_plan_what_is_known_asked_and_not_to_be_known() -> None:
    text = help.page("knows")
    parts = [row for row in text.splitlines() if row.startswith("# ")]
    assert parts == ["# What it knows", "# What it asks", "# What it cannot know"]
    for words in (
        "Last time",
        "spoiled",
        "Below 40 °F (ACI 306R)",
        "never the same",
        "sealing months",
        "local codes",
    ):
        assert words in text


def test_what_is_stated_of_cement_and_sample_reaches_the_plan() -> None:
    """Without them the odds of a plan made on the screens could never be promised."""
    wanted = measures.request("x", BLANK | {"cement_kind": " Type I/II", "sample": "S-12"})
    assert (wanted.cement_kind, wanted.sample) == ("Type I/II", 12)
    with pytest.raises(InputError) as refused:
        measures.request("x", BLANK | {"sample": "twelve"})
    assert refused.value.where == "sample"
    assert (measures.request("x", BLANK).cement_kind, measures.request("x", BLANK).sample) == (None, None)
