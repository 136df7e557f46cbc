"""Joints and the clock in a plan: what past pours teach, what is said, what other programs get."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from fractions import Fraction as F
from pathlib import Path
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.match import plan as planning
from finishlog.desk.plan import as_json, clock, joints
from finishlog.desk.services import Services
from finishlog.records.log import Shape
from finishlog.records.plan import Plan, PlanRequest
from finishlog.records.quantities.pour_day import PourStep
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewProduct,
    NewSite,
)
from finishlog.store import Log

NOW = datetime(2026, 6, 16, 18, 0, tzinfo=UTC)
POWDER = NewMaterialUse(NewProduct("Mole at Noon", "powder release", "Puddle Minerals"), 10.0, "lb")
TOAST = NewMaterialUse(NewProduct("Otter Toast", "pigment", "Thimble Works"), 60.0, "lb")


def after(begun: datetime, minutes: float) -> datetime:
    return begun + timedelta(minutes=minutes)


def poured(
    begun: datetime, *, loads: tuple[float, ...] = (0,), release: float = 70, stamp: float = 100,
    end: float = 40, joint: float = 500, rinse: float = 30 * 60, air: tuple[float, float] | None = None,
    exactness: Any = "exact", area: str = "field",
) -> Iterator[NewEntry]:  # fmt: skip
    """A pour in minutes after its first load; joint and rinse after its end."""
    for at in loads:
        yield NewEntry("load", after(begun, at), exactness, load=NewLoad(yards=6.0), materials=(TOAST,))
    yield NewEntry("pour", after(begun, end), exactness, area=area)
    yield NewEntry("powder_release", after(begun, release), exactness, area=area, materials=(POWDER,))
    facts = {"pattern": "ashlar", "mats": 6}
    yield NewEntry("stamp", after(begun, stamp), exactness, area=area, facts=facts)
    yield NewEntry("joint", after(begun, end + joint), exactness, area=area, facts={"spacing_ft": 9.0})
    yield NewEntry("rinse", after(begun, end + rinse), exactness, area=area)
    if air:
        facts = {"from_h": 0.0, "to_h": 24.0, "low_f": air[0], "high_f": air[1]}
        yield NewEntry("weather", after(begun, 600), "day", facts=facts)


class Shop:
    """A log of pours, one job each, and plans that match the first."""

    def __init__(self, folder: Path) -> None:
        self.log = Log.create(folder / "shop.finishlog", clock=lambda: NOW, new_uid=lambda: uuid4().hex)
        self.jobs: list[str] = []
        self.services = Services(
            open_log=lambda: self.log, has_log=lambda: True, make_log=lambda where, fill=None: self.log,
            clock=lambda: NOW, find_zone=lambda: ZoneInfo("America/Chicago"),
        )  # fmt: skip

    def pour(self, number: int = 0, kind: Any = "field", **more: Any) -> datetime:
        begun = datetime(2025, 6, 2, 12, 0, tzinfo=UTC) + timedelta(days=7 * (number or len(self.jobs)))
        job = NewJob(
            f"patio {len(self.jobs)}",
            NewCustomer(f"Ottoline {len(self.jobs)}"),
            NewSite("7 Kettle Row", zone="America/Chicago"),
            areas=(NewArea("field", kind, area_ft2=400.0, depth_in=4.0),),
        )
        with self.log.writing() as writer:
            handle = writer.add_job(job).handle
            writer.add_entries(handle, list(poured(begun, **more)))
        self.jobs.append(handle)
        return begun

    def plan(self, *rects: str, **more: Any) -> Plan:
        shapes = tuple(Shape(1, "rect", rect) for rect in rects or ("22x16",))
        more = {"on": date(2026, 7, 3)} | more
        return planning.make(self.services, PlanRequest(self.jobs[0], shapes, "4in", **more))


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    yield made
    made.log.close()


def opens(plan: Plan, key: str) -> tuple[int, int, int]:
    assert plan.clock is not None
    line = next(line for line in plan.clock.lines if line.key == key)
    return line.opens.low, line.opens.high, line.own


def test_two_pours_teach_nothing_three_their_median(shop: Shop) -> None:
    for release, stamp in ((50, 80), (95, 140)):
        shop.pour(release=release, stamp=stamp)
    assert opens(shop.plan(air_f=F(70)), "release") == (60, 120, 0)
    shop.pour(release=70, stamp=110, rinse=40 * 60, joint=600)
    plan = shop.plan(air_f=F(70))
    assert opens(plan, "release") == (70, 70, 3)
    assert opens(plan, "stamp") == (110, 110, 3)
    # placed in 30 to 60 min: one load gives no gap of one's own; joints 500, 500, 600 and rinse 30, 30, 40 h after
    assert opens(plan, "joint") == (530, 560, 3)
    assert opens(plan, "rinse") == (30 + 1800, 60 + 1800, 3)
    assert "median of your 3 pours" in {label: text for label, _, text in clock.lines(plan)}["Stamp"]


def test_pours_in_air_like_todays_come_first(shop: Shop) -> None:
    for release in (30, 35, 40):
        shop.pour(release=release, air=(80, 92))
    for release in (120, 130, 140):
        shop.pour(release=release, air=(50, 60))
    assert opens(shop.plan(air_f=F(85)), "release") == (35, 35, 3)
    assert opens(shop.plan(air_f=F(55)), "release") == (130, 130, 3)
    unsaid = shop.plan()
    assert opens(unsaid, "release") == (80, 80, 6)
    said = " ".join(clock.notes(unsaid))
    assert "Your past pours were at 55 °F to 86 °F; this one's is unknown." in said
    assert "like this one" in " ".join(clock.notes(shop.plan(air_f=F(85))))


def test_the_gap_between_trucks_is_ones_own(shop: Shop) -> None:
    for gap in (20, 25, 45):
        shop.pour(loads=(0, gap, 2 * gap), end=3 * gap, release=150, stamp=200)
    assert opens(shop.plan("40x40"), "truck") == (0, 0, 0)
    plan = shop.plan("40x40")
    assert plan.clock is not None
    trucks = [line for line in plan.clock.lines if line.key == "truck"]
    assert [(line.opens.low, line.number) for line in trucks] == [(25 * n, n + 1) for n in range(len(trucks))]
    assert len(trucks) == len(plan.concrete.loads.loads_yd3) > 2


def test_days_without_an_hour_and_what_was_taken_back_teach_nothing(shop: Shop) -> None:
    for _ in range(4):
        shop.pour(release=70, exactness="day")
    assert opens(shop.plan(air_f=F(70)), "release") == (60, 120, 0)
    for _ in range(3):
        shop.pour(release=70)
    assert opens(shop.plan(air_f=F(70)), "release") == (70, 70, 3)
    with shop.log.writing() as writer:
        released = next(e for e in writer.job(shop.jobs[-1]).entries if e.kind == "powder_release")
        writer.undo(shop.jobs[-1], released.number)
    assert opens(shop.plan(air_f=F(70)), "release") == (60, 120, 0)


def step(kind: str, minutes: float, job: str = "a", **facts: Any) -> PourStep:
    return PourStep(job, kind, after(NOW, minutes), facts)


def test_loads_of_two_days_are_two_pours() -> None:
    day = 24 * 60
    steps = [step("load", 0), step("powder_release", 60), step("load", day), step("powder_release", day + 90)]
    assert [pour.release for pour in clock.past(steps)] == [60, 90]
    other = [step("load", 0, "b"), step("powder_release", 45, "b")]
    assert [pour.release for pour in clock.past([*steps, *other])] == [60, 90, 45]


def test_what_was_logged_in_the_same_minute_or_a_day_late_was_not_timed() -> None:
    (pour,) = clock.past([step("load", 0), step("powder_release", 0), step("stamp", 13 * 60)])
    assert (pour.release, pour.stamp, pour.joint, pour.rinse) == (None, None, None, None)


def test_the_air_at_a_load_comes_before_the_weather_of_the_day() -> None:
    weather = step("weather", 300, low_f=60.0, high_f=80.0)
    (noted,) = clock.past([step("load", 0), weather])
    (said,) = clock.past([step("load", 0, air_f=91.0), weather])
    (late,) = clock.past([step("load", 0), step("weather", 3000, from_h=48.0, low_f=60.0, high_f=80.0)])
    assert (noted.air_f, said.air_f, late.air_f) == (70, 91, None)


def test_the_words_run_by_the_clock_past_midnight(shop: Shop) -> None:
    shop.pour()
    plan = shop.plan(air_f=F(70), start=time(7))
    rows = {label: (when, text) for label, when, text in clock.lines(plan)}
    assert rows["Truck 1"] == ("7a", "empty 82 min after batching: at the latest 8:22a, less the drive")
    assert rows["Release on"] == ("8a to 9a", "on the first load")
    assert rows["Stamp"] == ("8:30a to 9:30a", "until about 10:30a to 11:30a; try the edge first")
    assert rows["Joints"] == ("1:30p to 2p", "usually until Sat Jul 4 1:30a to 2a")
    assert rows["Sweep, rinse"][0] == "Sat Jul 4 7:30a to 8a"
    assert rows["Hands"] == ("2 hands, 4 mats", "200 ft² an hour: 352 ft² in 1 h 46; 6 mats on the old slab")


def test_what_was_not_given_is_said_and_the_clock_runs_from_the_first_truck(shop: Shop) -> None:
    shop.pour()
    plan = shop.plan()
    rows = {label: when for label, when, _ in clock.lines(plan)}
    assert rows["Truck 1"] == "first on site"
    assert rows["Release on"] == "+25 min to +4 h 30"  # 60 min at 90 °F, 120 min at 50 °F
    said = " ".join(clock.notes(plan))
    for words in ("Start not given", "Air not given: from 90 °F (earlier) to 50 °F (later)",
                  "common practice, no source", "not the clock"):  # fmt: skip
        assert words in said


def test_joints_of_the_plan_in_words(shop: Shop) -> None:
    shop.pour()
    plan = shop.plan("22x16", "8x3")
    rows = {label: (figure, text) for label, figure, text in joints.lines(plan)}
    assert rows["Joints"] == (
        "57 ft",
        "3 × 2 panels of 7' 4\" × 8' 0\"; 2 × 1 panels of 4' 0\" × 3' 0\"; up to 8 ft more where the pieces meet",
    )
    assert rows["Apart"][0] == "10' 0\""
    assert "8' 0\" to 12' 0\" for this thickness" in rows["Apart"][1]
    assert "the old slab's are 9' 0\" apart: continue its lines" in rows["Apart"][1]
    assert rows["Corners"][1].startswith("a joint from each inside corner (0 to 2")
    assert rows["Depth"][0] == "1 in"
    said = " ".join(joints.advice(plan))
    assert "meets the old slab, a wall" in said
    assert "Ask a licensed engineer about doweling into the old slab" in said
    assert "ACI 302.1R-96" in said


def test_an_overlay_and_stairs_have_no_panels(shop: Shop) -> None:
    shop.pour(kind="overlay")
    assert shop.plan().joints is None
    assert joints.lines(shop.plan()) == []
    assert joints.advice(shop.plan()) == ()


def test_other_programs_get_joints_and_clock_with_units(shop: Shop) -> None:
    shop.pour()
    told = as_json.plan_json(shop.plan(air_f=F(70), start=time(7, 30)))
    assert (told["joints"]["joint_ft"], told["joints"]["spacing_ft"], told["joints"]["old_spacing_ft"]) == (
        54,
        10,
        9,
    )
    assert told["joints"]["pieces"][0]["panels_along"] == 3
    assert (told["clock"]["start"], told["clock"]["air_f"]) == ("07:30", 70)
    assert [line["key"] for line in told["clock"]["lines"]] == ["truck", "release", "stamp", "joint", "rinse"]
    assert (told["clock"]["hands"], told["clock"]["mats"]) == (2, 4)


def test_a_plan_with_start_and_air_is_kept(shop: Shop) -> None:
    shop.pour()
    handle = planning.save(shop.services, shop.plan(air_f=F(70), start=time(7)), "side yard")
    with shop.log.reading() as log:
        (advice,) = log.advices(handle)
    assert '"start": "07:00:00"' in advice.inputs
    assert '"air_f": 70' in advice.inputs
