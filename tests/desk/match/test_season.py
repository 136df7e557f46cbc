"""A plan's days by the season, the cold, and the site's own clock; one day from which to compare."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction as F
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.cli.plan.match import sheet
from finishlog.desk.color import color
from finishlog.desk.jobs import edit, page
from finishlog.desk.match import kept, plan
from finishlog.desk.plan import days as plan_days
from finishlog.desk.plan.as_json import plan_json
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.records.log import Shape
from finishlog.records.plan import Plan, PlanRequest
from finishlog.records.shop import Shop
from finishlog.store import Log

JOB = "ottoline-quillfeather-back-patio"
REQUEST = PlanRequest(JOB, (Shape(1, "rect", "12x10"),), "4 in")
MACHINE, SITE = ZoneInfo("UTC"), ZoneInfo("America/Chicago")


class Shed:
    """A shop whose sites lie in Chicago; `now` and the machine's zone can be set."""

    def __init__(self, folder: Path) -> None:
        uids = count(1)
        self.now = datetime(2026, 6, 20, 12, tzinfo=UTC)
        self.zone = SITE
        log = Log.create(folder / "l.finishlog", clock=lambda: self.now, new_uid=lambda: f"u{next(uids)}")
        self.services = Services(
            open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: self.now,
            find_zone=lambda: self.zone,
        )  # fmt: skip
        edit.new_job(self.services, {"customer": "Ottoline Quillfeather", "job": "back patio",
                                     "areas": "field 24x18 4in"})  # fmt: skip

    def log(self, kind: str, at: str, **texts: str) -> None:
        record.record(self.services, JOB, kind, {"at": at, **texts}, because="so it was")

    def plan(self, on: date | None = None, air_f: F | None = None) -> Plan:
        return plan.make(self.services, replace(REQUEST, on=on, air_f=air_f))


@pytest.fixture
def shed(tmp_path: Path) -> Iterator[Shed]:
    made = Shed(tmp_path)
    yield made
    made.services.close()


def day(made: Plan, key: str) -> tuple[date, date, str, str]:
    [found] = [one for one in made.days if one.key == key]
    return found.opens, found.closes, found.when, found.watch


def differs(made: Plan) -> dict[str, str]:
    return {one.key: one.text for one in made.differences}


def test_judge_from_and_do_not_compare_before_are_one_day(shed: Shed) -> None:
    shed.log("pour", "2026-03-03 11p")  # already the next day in UTC
    for n, at in enumerate(("2026-03-05 12p", "2026-03-12 12p", "2026-04-04 12p")):
        shed.log("reading", at, color=f"{58 + n} 4 16", damp="no", sealed="no")
    made = shed.plan(date(2026, 7, 1))
    assert made.odds is not None
    assert made.odds.compare_from == day(made, "compare_from")[0] == date(2026, 7, 29)
    assert any("before Wed Jul 29" in line for line in made.tell_customer)


def test_the_job_page_and_the_color_page_say_the_same_day(shed: Shed) -> None:
    shed.log("pour", "2026-06-03 11p")
    shed.log("reading", "2026-06-05 12p", color="55 4 16", damp="no", sealed="no")
    [track] = color.job(shed.services, JOB).tracks
    assert track.compare_from == date(2026, 7, 1)
    assert "Compare it from Jul 1 2026" in page.lay_open(shed.services, JOB).sentence


def test_the_usual_day_of_a_plan_is_the_sites(shed: Shed) -> None:
    shed.zone = MACHINE
    shed.now = datetime(2026, 6, 21, 2, tzinfo=UTC)  # still June 20 in Chicago
    assert shed.plan().on == date(2026, 6, 20)
    measures = plan.prepare(shed.services, JOB)
    assert (measures.today, measures.zone) == (date(2026, 6, 20), "America/Chicago")


@pytest.mark.parametrize(
    ("air_f", "rinse", "first"),
    [
        (None, "24 to 48 h", 1),
        (F(40), "24 to 48 h", 1),
        (F(35), "66 to 132 h", 2),
        (F(30), "76 to 152 h", 3),
    ],
)
def test_the_rinse_waits_in_the_cold(shed: Shed, air_f: F | None, rinse: str, first: int) -> None:
    made = shed.plan(date(2026, 10, 1), air_f)
    opens, _, when, watch = day(made, "rinse")
    assert (opens - made.on).days == first
    assert rinse in when
    cold = air_f is not None and air_f < 40
    assert ("freezes" in watch) == cold
    assert ("cold" in differs(made)) == cold
    assert ([one.stage for one in made.cautions].count("Cold weather") == 1) == cold
    assert ("Cold weather: Below 40 °F (ACI 306R" in sheet(made)) == cold


def test_where_it_does_not_set_another_day_is_said(shed: Shed) -> None:
    assert "another day" in differs(shed.plan(date(2026, 10, 1), F(15)))["cold"]


@pytest.mark.parametrize(
    ("on", "opens", "words"),
    [
        (date(2026, 6, 1), date(2026, 6, 15), "Mon Jun 29, or Mon Jun 15 to Mon Jul 6 when proven dry"),
        (date(2026, 10, 10), date(2027, 4, 1),
         "in spring, from Apr 1 2027; or Sat Oct 24 to Sat Oct 31, only if proven dry"),
        (date(2026, 11, 20), date(2027, 4, 1), "in spring, from Apr 1 2027"),
        (date(2027, 2, 20), date(2027, 4, 1), "in spring, from Apr 1 2027"),
        (date(2027, 3, 5), date(2027, 3, 19), "Fri Apr 2, or Fri Mar 19 to Fri Apr 9 when proven dry"),
    ],
)  # fmt: skip
def test_off_season_the_sealer_waits_for_the_season(shed: Shed, on: date, opens: date, words: str) -> None:
    found = day(shed.plan(on), "seal")
    assert (found[0], found[2]) == (opens, words)


def test_the_reseal_counts_from_the_day_that_it_is_sealed(shed: Shed) -> None:
    assert day(shed.plan(date(2026, 11, 20)), "reseal")[0] == date(2030, 4, 1)
    assert day(shed.plan(date(2026, 6, 1)), "reseal")[0] == date(2029, 6, 29)


def test_a_shop_that_seals_all_year_keeps_its_day_28_and_its_leap_day(shed: Shed) -> None:
    made = shed.plan(date(2028, 2, 1))
    all_year = Shop({**vars(shed.services.shop()), "care_months": tuple(range(1, 13))})
    days = {one.key: one for one in plan_days.days(made.on, made.reference, all_year)}
    assert days["seal"].when.startswith("Tue Feb 29, or ")
    assert days["reseal"].opens == date(2031, 2, 28)


@pytest.mark.parametrize(
    ("on", "air_f", "asked"),
    [(date(2026, 12, 3), None, True), (date(2026, 12, 3), F(45), False), (date(2026, 10, 3), None, False)],
)
def test_the_cold_is_asked_off_season_alone(shed: Shed, on: date, air_f: F | None, asked: bool) -> None:
    made = shed.plan(on, air_f)
    assert ("cold_unsaid" in differs(made)) == asked
    assert ("cold_unsaid" in [one["key"] for one in plan_json(made)["differences"]]) == asked


def test_a_kept_plan_keeps_its_cold(shed: Shed) -> None:
    made = shed.plan(date(2026, 12, 3), F("37.5"))
    again = kept.plan_of(shed.services, plan.save(shed.services, made, "side"))
    assert again.request.air_f == F("37.5")
    assert day(again, "rinse") == day(made, "rinse")
