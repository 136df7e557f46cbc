"""What falls due: windows from the stage kinds and the entries. Hours and days: common practice, no source."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import count, pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog.records.log import Area, Coat, Customer, Entry, Exactness, Job, Recipe, Site, Stage
from finishlog.records.shop import Shop
from finishlog.trade.due import WINDOW_SETTINGS, DueLine, due_lines, put_off_until

SHOP = Shop.from_values({})
CHICAGO = ZoneInfo("America/Chicago")
STAMPED = Recipe("r", "stamped", tuple(
    Stage(i, kind) for i, kind in enumerate(("powder_release", "stamp", "joint", "rinse", "seal"), 1)
))  # fmt: skip
FIELD = Area("a1", "field", area_ft2=432, depth_in=4, recipe=STAMPED)


def at(text: str, zone: ZoneInfo = CHICAGO) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=zone).astimezone(UTC)


POURED = at("2026-06-04T11:20")


def entry(kind: str, when: datetime, number: int = 0, area: str | None = "a1", exact: Exactness = "exact",
          coat: Coat | None = None, **facts: Any) -> Entry:  # fmt: skip
    return Entry(number, f"e{number}", kind, when, when, exact, area, facts=facts, coat=coat)


def job(
    *entries: Entry, areas: tuple[Area, ...] = (FIELD,), zone: str = "America/Chicago", **more: Any
) -> Job:
    numbers = count(1)
    numbered = tuple(
        Entry(
            next(numbers),
            e.uid,
            e.kind,
            e.happened,
            e.logged,
            e.exactness,
            e.area,
            facts=e.facts,
            coat=e.coat,
        )
        for e in entries
    )
    return Job("j", "j", "patio", Customer("c", "Ottoline Quillfeather"), Site("s", "12 Teakettle Lane", zone=zone),
               areas=areas, entries=numbered, history=numbered, **more)  # fmt: skip


def lines(*entries: Entry, shop: Shop = SHOP, **more: Any) -> dict[str, DueLine]:
    found = due_lines(job(*entries, **more), shop)
    for line in found:
        steps = (line.opens, line.usual_from, line.usual_to, line.closes)
        assert all(early <= late for early, late in pairwise(steps)), line
        assert line.opens < line.closes
    return {line.key if line.age_days is None else f"photo {line.age_days}": line for line in found}


POUR = entry("pour", POURED)


def test_what_a_fresh_pour_brings_in_its_order() -> None:
    found = lines(POUR)
    assert list(found) == ["joint", "photo 1", "rinse", "sweep", "photo 3", "photo 7", "dryness_test", "photo 14",
                           "photo 28", "seal", "judge_color", "photo 45", "photo 180"]  # fmt: skip
    assert found["joint"].opens == POURED + timedelta(hours=6)
    assert found["joint"].closes == POURED + timedelta(hours=18)
    assert "1 in deep" in found["joint"].why
    assert found["rinse"].opens == POURED + timedelta(hours=18)
    assert found["rinse"].usual_from == POURED + timedelta(hours=24)
    assert found["rinse"].closes == POURED + timedelta(hours=96)
    assert found["photo 7"].opens == at("2026-06-11T00:00")
    assert found["photo 7"].closes == at("2026-06-12T00:00")
    assert found["seal"].opens == at("2026-07-02T00:00")
    assert found["seal"].closes == at("2026-07-10T00:00")
    assert {line.area for line in found.values()} == {"a1"}
    assert found["rinse"].caution == "rinse"
    assert found["rinse"].why.startswith("Rinse at 24 to 48 h, 18 to 96 h at most:")
    assert found["photo 7"].caution is None


def test_without_the_end_of_the_pour_all_counts_from_the_last_load_and_the_end_is_asked() -> None:
    found = lines(entry("load", at("2026-06-04T07:40")), entry("load", POURED))
    asked, rinse = found["pour_end"], found["rinse"]
    assert (asked.opens, asked.closes - asked.opens) == (POURED, timedelta(hours=24))
    assert rinse.opens == lines(POUR)["rinse"].opens
    assert "pour end not logged" in rinse.why
    assert "not logged" not in asked.why
    assert "pour_end" not in lines(entry("load", POURED), POUR)


def test_what_was_not_poured_has_nothing_due() -> None:
    assert lines(entry("sample", POURED)) == {}
    assert lines(POUR, state="archived") == {}
    assert lines(state="planned") == {}


def test_a_planned_job_has_its_pour() -> None:
    found = lines(state="planned", planned_on=date(2026, 6, 17))
    assert list(found) == ["pour"]
    assert (found["pour"].opens, found["pour"].closes) == (at("2026-06-17T00:00"), at("2026-06-18T00:00"))


@pytest.mark.parametrize(
    ("poured", "opens"),
    [
        (
            "2026-03-07T15:00",
            "2026-03-08T10:00",
        ),  # the clocks go forward in between: 18 h later it is 10, not 9
        ("2026-10-31T15:00", "2026-11-01T08:00"),  # and back: 8, not 9
        ("2026-06-04T15:00", "2026-06-05T09:00"),
    ],
)
def test_a_rinse_window_is_right_in_hours_across_a_clock_change(poured: str, opens: str) -> None:
    rinse = lines(entry("pour", at(poured)))["rinse"]
    assert rinse.opens == at(opens)
    assert rinse.opens - at(poured) == timedelta(hours=18)
    assert rinse.closes - at(poured) == timedelta(hours=96)


def test_days_are_whole_days_at_the_site_whatever_the_clocks_do() -> None:
    photo = lines(entry("pour", at("2026-10-30T15:00")))["photo 3"]
    assert (photo.opens, photo.closes) == (at("2026-11-02T00:00"), at("2026-11-03T00:00"))
    auckland = ZoneInfo("Pacific/Auckland")
    there = lines(entry("pour", at("2026-06-04T08:00", auckland)), zone="Pacific/Auckland")["photo 1"]
    assert there.opens == at("2026-06-05T00:00", auckland)


def test_what_is_done_is_not_due() -> None:
    after = POURED + timedelta(hours=26)
    done = ("joint", "sweep", "rinse")
    left = lines(POUR, *(entry(kind, after) for kind in done), entry("photo", after))
    assert not set(done) & set(left)
    assert "photo 1" not in left
    assert "photo 3" in left


def test_a_rinsed_slab_is_not_swept_any_more() -> None:
    assert "sweep" not in lines(POUR, entry("rinse", POURED + timedelta(hours=26)))


def test_what_was_done_before_the_pour_does_not_count_and_a_day_does() -> None:
    before = entry("rinse", POURED - timedelta(days=3))
    assert "rinse" in lines(before, POUR)
    that_day = entry("sweep", at("2026-06-04T12:00"), exact="day")
    assert "sweep" not in lines(entry("pour", at("2026-06-04T15:00")), that_day)


def test_joints_are_cut_in_the_field_and_where_the_recipe_says_so() -> None:
    tooled = Recipe("t", "tooled", (Stage(1, "joint", {"method": "tooled"}),))
    assert "joint" not in lines(POUR, areas=(Area("a1", "field", recipe=tooled),))
    assert "joint" not in lines(POUR, areas=(Area("a1", "steps", "stairs"),))
    assert "joint" in lines(POUR, areas=(Area("a1", "steps", "stairs", recipe=STAMPED),))
    assert "joint" in lines(POUR, areas=(Area("a1", "field"),))


def test_no_powder_no_sweep() -> None:
    plain = Recipe("p", "broomed", (Stage(1, "integral_color"),))
    found = lines(POUR, areas=(Area("a1", "field", recipe=plain),))
    assert not {"sweep", "rinse"} & set(found)
    thrown = lines(entry("powder_release", POURED), POUR, areas=(Area("a1", "field", recipe=plain),))
    assert {"sweep", "rinse"} <= set(thrown)
    liquid = lines(entry("liquid_release", POURED), POUR, areas=(Area("a1", "field"),))
    assert not {"sweep", "rinse"} & set(liquid)


def test_a_late_rinse_moves_sealing() -> None:
    late = entry("rinse", at("2026-07-06T09:00"))
    found = lines(POUR, late)
    assert found["seal"].opens == at("2026-07-09T00:00")  # three days to dry
    assert found["seal"].closes == at("2026-07-17T00:00")  # as long as it had: day 28 to day 35
    assert found["seal"].why.startswith("Let it dry from the last wash first.")
    assert lines(POUR, entry("rinse", POURED + timedelta(hours=30)))["seal"].opens == at("2026-07-02T00:00")
    assert found["dryness_test"].opens == at("2026-07-08T00:00")


def test_proven_dry_it_may_be_sealed_from_day_14() -> None:
    early = entry("dryness_test", at("2026-06-20T17:00"), result="dry")
    found = lines(POUR, early)
    assert "dryness_test" not in found
    assert found["seal"].opens == at("2026-06-20T00:00")
    too_early = entry("dryness_test", at("2026-06-10T17:00"), result="dry")
    assert lines(POUR, too_early)["seal"].opens == at("2026-06-18T00:00")


def test_a_damp_sheet_is_laid_again_and_a_laid_one_lifted() -> None:
    damp = lines(POUR, entry("dryness_test", at("2026-06-20T17:00"), result="damp"))
    assert damp["dryness_test"].opens == at("2026-06-21T00:00")
    laid = lines(POUR, entry("dryness_test", at("2026-06-20T17:00")))["dryness_test"]
    assert laid.title == "Lift the sheet"
    assert laid.opens - at("2026-06-20T17:00") == timedelta(hours=16)  # ASTM D4263: 16 h at least
    assert laid.closes - at("2026-06-20T17:00") == timedelta(hours=24)


def test_a_photo_a_little_late_counts_until_the_next_age() -> None:
    assert "photo 7" not in lines(POUR, entry("photo", at("2026-06-15T10:00")))
    assert "photo 7" in lines(POUR, entry("photo", at("2026-06-18T10:00")))
    assert "photo 14" not in lines(POUR, entry("photo", at("2026-06-18T10:00")))


SEALED = at("2026-07-02T09:00")


def coat(when: datetime, number: int = 1, reseal: bool = False) -> Entry:
    return entry("seal", when, coat=Coat(number, reseal))


def test_the_second_coat_goes_on_2_to_24_h_after_the_first() -> None:
    found = lines(POUR, coat(SEALED))
    assert "seal" not in found
    assert "dryness_test" not in found
    second = found["second_coat"]
    assert (second.opens - SEALED, second.closes - SEALED) == (timedelta(hours=2), timedelta(hours=24))
    assert second.caution == "seal"
    assert "second_coat" not in lines(POUR, coat(SEALED), coat(SEALED + timedelta(hours=4), 2))
    once = Recipe("o", "one coat", (Stage(1, "seal", {"coats": 1}),))
    assert "second_coat" not in lines(POUR, coat(SEALED), areas=(Area("a1", "field", recipe=once),))
    thrice = Recipe("o", "three", (Stage(1, "seal", {"coats": 3}),))
    three = lines(
        POUR, coat(SEALED), coat(SEALED + timedelta(hours=4), 2), areas=(Area("a1", "f", recipe=thrice),)
    )
    assert three["second_coat"].title == "Coat 3"


def test_a_reseal_is_due_years_after_the_last_coat_and_opens_the_next() -> None:
    found = lines(POUR, coat(SEALED), coat(SEALED + timedelta(hours=4), 2))
    assert (found["reseal"].opens, found["reseal"].closes) == (at("2031-04-02T00:00"), at("2031-07-03T00:00"))
    again = lines(POUR, coat(SEALED), coat(at("2030-05-10T09:00"), 1, reseal=True))
    assert again["reseal"].opens == at("2035-04-01T00:00")
    assert "Jul 2 2026" in found["reseal"].why


def test_a_coat_of_a_leap_day() -> None:
    # 2028 has a February 29; 2031 and 2033 have none.
    found = lines(entry("pour", at("2028-01-20T12:00")), coat(at("2028-02-29T10:00")))["reseal"]
    assert found.opens == at("2032-07-31T00:00")  # three months before the season of its window ends
    assert found.closes == at("2033-03-01T00:00")


def test_a_pool_is_resealed_sooner_and_a_customer_who_said_no_is_left_alone() -> None:
    pool = entry("visit", SEALED, harsh="pool")
    assert lines(POUR, coat(SEALED), pool)["reseal"].opens == at("2029-04-02T00:00")
    mild = entry("visit", SEALED + timedelta(days=9), harsh="nothing_harsh")
    assert lines(POUR, coat(SEALED), pool, mild)["reseal"].opens == at("2031-04-02T00:00")
    assert "reseal" not in lines(
        POUR, coat(SEALED), entry("care", SEALED + timedelta(days=900), state="declined")
    )
    spared = job(POUR, coat(SEALED))
    left_alone = Job(**{**{f: getattr(spared, f) for f in Job.__dataclass_fields__},
                        "customer": Customer("c", "Ottoline", leave_alone=True)})  # fmt: skip
    assert "reseal" not in {line.key for line in due_lines(left_alone, SHOP)}


def test_the_color_is_judged_by_a_reading_or_a_visit_from_day_28() -> None:
    assert lines(POUR)["judge_color"].opens == at("2026-07-02T00:00")
    assert lines(POUR)["judge_color"].closes == at("2026-07-20T00:00")
    early = entry("reading", at("2026-06-25T10:00"))
    assert "judge_color" in lines(POUR, early)
    for kind in ("reading", "visit"):
        assert "judge_color" not in lines(POUR, entry(kind, at("2026-07-10T10:00")))


def test_put_off_it_reopens_then_and_not_for_this_job_it_is_gone() -> None:
    until = at("2026-06-07T07:00")
    off = entry("put_off", POURED, what="rinse", until=until.isoformat())
    line = lines(POUR, off)["rinse"]
    assert (line.opens, line.closes) == (until, POURED + timedelta(hours=96))
    late = entry("put_off", POURED, what="rinse", until=at("2026-06-20T07:00").isoformat())
    assert lines(POUR, late)["rinse"].closes == at("2026-06-21T00:00")
    assert "rinse" not in lines(POUR, off, entry("put_off", POURED, what="rinse"))
    assert "sweep" in lines(POUR, off, entry("put_off", POURED, what="rinse"))
    one = lines(POUR, entry("put_off", POURED, what="photo", age_days=7))
    assert "photo 7" not in one
    assert "photo 14" in one
    odd = entry("put_off", POURED, what="rinse", until="some day")
    assert lines(POUR, odd)["rinse"] == lines(POUR)["rinse"]


BORDER = Area("a2", "border", "border", recipe=STAMPED)


def test_areas_of_one_pour_share_a_line_and_others_do_not() -> None:
    whole = due_lines(job(entry("pour", POURED, area=None), areas=(FIELD, BORDER)), SHOP)
    assert {line.area for line in whole if line.key == "rinse"} == {None}
    apart = (POUR, entry("pour", POURED + timedelta(minutes=40), area="a2"))
    [rinse] = [line for line in due_lines(job(*apart, areas=(FIELD, BORDER)), SHOP) if line.key == "rinse"]
    assert rinse.area is None
    assert rinse.opens == POURED + timedelta(hours=18, minutes=40)  # for both
    assert rinse.closes == POURED + timedelta(hours=96)
    days = (POUR, entry("pour", POURED + timedelta(days=9), area="a2"))
    both = [line.area for line in due_lines(job(*days, areas=(FIELD, BORDER)), SHOP) if line.key == "rinse"]
    assert both == ["a1", "a2"]
    half = (*apart, entry("rinse", POURED + timedelta(hours=26)))
    assert [x.area for x in due_lines(job(*half, areas=(FIELD, BORDER)), SHOP) if x.key == "rinse"] == ["a2"]


def test_a_pour_of_which_only_the_day_is_known_says_so() -> None:
    found = lines(entry("pour", at("2026-06-04T12:00"), exact="day"))
    assert found["rinse"].why.endswith("Counted from noon; hour not logged.")


def test_windows_follow_the_settings_that_are_said_to_move_them() -> None:
    shop = Shop.from_values({"rinse_from_h": "20", "dry_after_wash_days": "5", "recoat_to_h": "30"})
    assert lines(POUR, shop=shop)["rinse"].opens == POURED + timedelta(hours=20)
    assert {
        "rinse_from_h",
        "dry_after_wash_days",
        "recoat_to_h",
        "photo_ages",
        "reseal_to_years",
    } <= WINDOW_SETTINGS


def test_a_put_off_by_its_day_and_one_that_names_none() -> None:
    assert put_off_until("2026-06-07T07:00") == datetime(2026, 6, 7, 7, tzinfo=UTC)
    assert put_off_until("2026-06-07T07:00-05:00") == datetime(2026, 6, 7, 12, tzinfo=UTC)
    assert [put_off_until(f"{year}-06-07") is None for year in (1899, 1900, 2199, 2200)] == [
        True,
        False,
        False,
        True,
    ]
    assert put_off_until("some day") is None
    early = entry("put_off", POURED, what="rinse", until=POURED.isoformat())
    assert lines(POUR, early)["rinse"] == lines(POUR)["rinse"]


def test_a_zone_that_is_none_is_utc() -> None:
    photo = lines(entry("pour", at("2026-06-04T12:00", ZoneInfo("UTC"))), zone="Nowhere/None")["photo 1"]
    assert photo.opens == at("2026-06-05T00:00", ZoneInfo("UTC"))


@pytest.mark.parametrize(
    ("exact", "hours", "counts"),
    [("exact", 0, True), ("exact", -0.1, False), ("about", -1, True), ("about", -1.1, False)],
)
def test_what_was_about_then_may_be_an_hour_off(exact: Exactness, hours: float, counts: bool) -> None:
    rinse = entry("rinse", POURED + timedelta(hours=hours), exact=exact)
    assert ("rinse" not in lines(rinse, POUR)) == counts


def test_of_a_pour_of_which_only_the_month_is_known_nothing_is_due() -> None:
    assert lines(entry("pour", POURED, exact="month")) == {}


@pytest.mark.parametrize(
    ("state", "on", "opens", "title"),
    [("booked", "2029-08-14", "2029-08-14", "Reseal, booked"), ("ask_again", "2031-05-20", "2031-05-20", "Reseal"),
     ("ask_again", "2030-12-01", "2031-04-02", "Reseal"), ("contacted", "2031-05-20", "2031-04-02", "Reseal")],
)  # fmt: skip
def test_a_reseal_is_due_on_the_day_it_was_booked_or_asked_for(
    state: str, on: str, opens: str, title: str
) -> None:
    found = lines(POUR, coat(SEALED), coat(SEALED + timedelta(hours=4), 2),
                  entry("care", SEALED + timedelta(days=900), state=state, on=on))["reseal"]  # fmt: skip
    assert (found.opens, found.title) == (at(f"{opens}T00:00"), title)
    if state == "booked":
        assert found.closes == at("2029-08-15T00:00")


def test_a_photo_of_the_last_age_counts_for_a_tenth_of_it() -> None:
    """Day 180 from December 1 on, for eighteen days more and to the end of that day."""
    assert "photo 180" not in lines(POUR, entry("photo", at("2026-12-19T23:00")))
    assert "photo 180" in lines(POUR, entry("photo", at("2026-12-20T00:30")))
    assert "photo 180" not in lines(POUR, entry("photo", at("2026-12-01T00:00")))
    assert "photo 180" in lines(POUR, entry("photo", at("2026-11-30T23:59")))
