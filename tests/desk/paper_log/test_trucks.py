"""One truck over two areas, samples, signatures, claims: what a sheet can tell of the whole record."""

from __future__ import annotations

from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.placed.placed import as_placed
from finishlog.errors import InputError
from finishlog.records.log import Job, Load
from finishlog.records.writing import NewEntry, NewLoad

ZONE = ZoneInfo("America/Chicago")
ROW = {
    "customer": "Ottoline Quillfeather",
    "job": "terrace",
    "street": "12 Teakettle Lane",
    "poured_on": "2025-06-16",
    "area": "field",
    "ticket": "T-1",
    "yards": "5",
    "base": "Wet Biscuit",
    "base_lot": "K-131",
    "dose": "7 lb/yd3",
}
BORDER = {**ROW, "area": "border", "area_kind": "border", "yards": "1.75"}
BARE = {
    **{key: ROW[key] for key in ("customer", "job", "street", "poured_on", "ticket")},
    "area": "border",
    "yards": "1.75",
}


def loads(job: Job) -> list[Load]:
    return [entry.load for entry in job.of_kind("load") if entry.load]


def split(job: Job, load: Load) -> dict[str, float | None]:
    names = {area.uid: area.name for area in job.areas}
    return {names[uid]: yards for uid, yards in load.areas}


def told(report: Any) -> list[tuple[int, str]]:
    return [(remark.line, remark.column) for remark in report.bad]


@pytest.mark.parametrize("second", [BORDER, BARE])
def test_one_ticket_in_two_areas_is_one_load_with_a_map(sheet_shop: Any, second: dict[str, str]) -> None:
    report = sheet_shop.bring(ROW, second)
    assert (report.bad, report.pours_added, report.jobs_added) == ((), 2, 1)
    assert [(remark.line, remark.column) for remark in report.flagged] == [(3, "ticket")]
    assert "field 5, border 1.75" in report.flagged[0].what
    job = sheet_shop.only()
    [load] = loads(job)
    assert (load.yards, split(job, load)) == (6.75, {"field": 5, "border": 1.75})
    [entry] = job.of_kind("load")
    assert (entry.area, entry.materials[0].amount) == (None, 47.25)
    for area in job.areas:
        assert as_placed(job, area, ZONE).dose_lb_per_yd3 == 7
        assert area.recipe is not None
        assert area.recipe.stage("integral_color") is not None


def test_the_pigment_weighed_into_a_shared_truck_is_told_once(sheet_shop: Any) -> None:
    sheet_shop.bring({**ROW, "base_lb": "47 lb"}, {**BORDER, "base_lb": "47 lb"})
    assert sheet_shop.only().of_kind("load")[0].materials[0].amount == 47


@pytest.mark.parametrize(
    ("column", "one", "other"),
    [
        ("base_lb", "47", "48"),
        ("slump", "4.5", "5"),
        ("returned", "0", "0.5"),
        ("dose", "7 lb/yd3", "8 lb/yd3"),
        ("plant", "Lower Thimble", "Upper Thimble"),
    ],
)
def test_a_shared_truck_told_in_two_ways_is_named(sheet_shop: Any, column: str, one: str, other: str) -> None:
    report = sheet_shop.bring({**ROW, column: one}, {**BORDER, column: other})
    assert told(report) == [(3, column)]
    assert "Line 2" in report.bad[0].what
    assert not report.written


def test_a_truck_may_bring_more_than_its_areas_took_but_not_less(sheet_shop: Any) -> None:
    report = sheet_shop.bring({**ROW, "truck_yards": "6"}, BORDER)
    assert told(report) == [(3, "truck_yards")]
    sheet_shop.bring({**ROW, "truck_yards": "7.5", "returned": "0.75", "dumped": "0"}, BORDER)
    [load] = loads(sheet_shop.only())
    assert (load.yards, load.placed_yd3) == (7.5, 6.75)


def test_a_truck_of_which_only_one_area_is_told_keeps_the_rest_open(sheet_shop: Any) -> None:
    sheet_shop.bring({**ROW, "truck_yards": "8"})
    job = sheet_shop.only()
    [load] = loads(job)
    assert (load.yards, split(job, load)) == (8, {"field": 5})
    assert job.of_kind("load")[0].materials[0].amount == 56


def test_the_same_ticket_on_another_day_or_job_is_another_truck(sheet_shop: Any) -> None:
    report = sheet_shop.bring(ROW, {**BORDER, "poured_on": "2025-06-17"}, {**BORDER, "job": "walk"})
    assert (report.bad, report.flagged) == ((), ())
    assert sorted(len(loads(job)) for job in sheet_shop.jobs()) == [1, 2]


def test_a_shared_truck_is_known_when_it_comes_again(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW, BORDER)
    before = sheet_shop.jobs()
    report = sheet_shop.bring(ROW, BORDER)
    assert (report.bad, report.skipped, report.pours_added) == ((), 2, 0)
    assert sheet_shop.jobs() == before


def test_a_truck_that_the_log_has_gets_no_second_load_from_another_area(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW)
    report = sheet_shop.bring(BORDER)
    assert told(report) == [(2, "ticket")]
    assert "entry 2" in report.bad[0].what
    assert len(loads(sheet_shop.only())) == 1


def test_a_balance_truck_is_a_row_of_its_own(sheet_shop: Any) -> None:
    report = sheet_shop.bring(
        ROW, {**ROW, "ticket": "T-2", "yards": "2", "balance": "yes", "dose": "", "base_lb": "14"}
    )
    assert report.bad == ()
    assert [(load.ticket, load.is_balance) for load in loads(sheet_shop.only())] == [
        ("T-1", False),
        ("T-2", True),
    ]
    assert told(sheet_shop.bring({**ROW, "job": "x", "balance": "yes", "balance_yards": "2"})) == [
        (2, "balance")
    ]


def test_the_driven_job_comes_in_whole(sheet_shop: Any) -> None:
    """Field, border and stairs; two loads and a balance load, one truck over two areas; sample, claim."""
    common = {key: ROW[key] for key in ("customer", "job", "street", "poured_on", "base", "base_lot", "dose")}
    plant = {"plant": "Gravelpit plant", "mix": "4000-6", "cement": "470", "scm": "94", "slump": "4.5"}
    finish = {"cure": "compound", "joints": "saw", "air_low": "58", "air_high": "81 F", "weather": "dry"}
    report = sheet_shop.bring(
        {
            **common, **plant, **finish, "area": "field", "ticket": "T-1", "yards": "8", "sample": "12",
            "sample_size": "2x2 ft", "sample_kept": "rack", "sample_sealed": "yes", "water_gal": "3",
            "water_when": "before the color", "admixtures": "air", "slump_end": "4",
            "finishing_note": "burnished at the gate", "sample_signed_by": "Ottoline Quillfeather",
            "sample_signed_on": "2025-06-20", "claim": "lighter than the front", "claim_on": "2025-09-02",
            "claim_cause": "another cement", "claim_outcome": "she is content", "base_color": "10YR 6/3",
            "color_age": "45",
        },
        {**common, **plant, "area": "field", "ticket": "T-2", "yards": "3"},
        {**common, **finish, "area": "border", "area_kind": "border", "ticket": "T-2", "yards": "2"},
        {**common, **plant, **finish, "area": "stairs", "area_kind": "stairs", "ticket": "T-3", "yards": "2",
         "balance": "yes", "sample": "13"},
    )  # fmt: skip
    assert report.bad == ()
    job = sheet_shop.only()
    assert [area.name for area in job.areas] == ["field", "border", "stairs"]
    assert [(load.ticket, load.yards, load.is_balance) for load in loads(job)] == [
        ("T-1", 8, False),
        ("T-2", 5, False),
        ("T-3", 2, True),
    ]
    assert split(job, loads(job)[1]) == {"field": 3, "border": 2}
    assert len(job.of_kind("weather")) == 1
    assert job.of_kind("weather")[0].facts == {"low_f": 58, "high_f": 81}
    assert {entry.facts["method"] for entry in job.of_kind("cure", "joint")} == {"compound", "saw"}
    _check_kept(job)


def _check_kept(job: Job) -> None:
    samples = [entry.sample for entry in job.of_kind("sample") if entry.sample]
    numbers = {entry.load.ticket: entry.number for entry in job.of_kind("load") if entry.load}
    assert [(sample.number, sample.load) for sample in samples] == [
        (12, numbers["T-1"]),
        (13, numbers["T-3"]),
    ]
    assert (samples[0].size, samples[0].kept_where, samples[0].half_sealed) == ("2x2 ft", "rack", True)
    [signed] = job.of_kind("approval")
    assert signed.approval is not None
    assert (signed.approval.sample, signed.approval.by, signed.approval.approved) == (
        12,
        "Ottoline Quillfeather",
        True,
    )
    assert signed.happened.astimezone(ZONE).date() == date(2025, 6, 20)
    [claim] = job.of_kind("claim")
    assert claim.claim is not None
    assert (claim.claim.complaint, claim.claim.outcome, claim.claim.settled) == (
        "lighter than the front",
        "she is content",
        True,
    )
    [reading] = job.of_kind("reading")
    assert reading.reading is not None
    assert (reading.reading.source, reading.reading.sd_L) == ("chip by eye", 2.5)
    # value 6 is Y = 29.301 by the quintic of ASTM D1535, so L* = 116 (Y/100)^(1/3) - 16 = 61.05 before the
    # adaptation from C to D65
    assert abs(reading.reading.L - 61.05) < 0.1
    assert reading.reading.b > reading.reading.a > 0


def test_an_overlay_has_bags_and_no_load(sheet_shop: Any) -> None:
    base = {key: ROW[key] for key in ("customer", "job", "street", "poured_on")}
    sheet_shop.bring(
        {
            **base,
            "area": "porch",
            "area_kind": "overlay",
            "bags": "12 bags",
            "bag_product": "Thin Pelt",
            "bag_water": "1.25",
        }
    )
    job = sheet_shop.only()
    assert [entry.kind for entry in job.entries] == ["pour", "bag_mix"]
    [bags] = job.of_kind("bag_mix")
    assert bags.facts == {"bags": 12, "water_per_bag_gal": 1.25}
    assert [(use.product.name, use.amount, use.unit) for use in bags.materials] == [("Thin Pelt", 12, "bag")]


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ({"sample_signed_by": "Bo", "sample_signed_on": "2025-06-20"}, "sample"),
        ({"sample": "12", "sample_signed_by": "Bo"}, "sample_signed_on"),
        ({"sample": "12", "sample_signed_on": "2025-06-20"}, "sample_signed_by"),
        ({"claim": "pale"}, "claim_on"),
        ({"claim_on": "2025-09-02"}, "claim"),
        ({"claim": "pale", "claim_on": "2025-06-01"}, "claim_on"),
        ({"bag_water": "1"}, "bags"),
        ({"bags": "some"}, "bags"),
        ({"sample": "S/12"}, "sample"),
        ({"cure": "blanket"}, "cure"),
        ({"air_low": "58 lb"}, "air_low"),
        ({"base_color": "10YR 6", "color_age": "45"}, "base_color"),
        ({"slump_end": "13"}, "slump_end"),
    ],
)
def test_what_cannot_be_so_is_a_bad_line(sheet_shop: Any, cells: dict[str, str], column: str) -> None:
    assert told(sheet_shop.bring({**ROW, **cells})) == [(2, column)]


def test_a_sample_may_be_signed_before_the_pour(sheet_shop: Any) -> None:
    cells = {"sample": "12", "sample_signed_by": "Bo", "sample_signed_on": "2025-06-01"}
    assert sheet_shop.bring({**ROW, **cells}).bad == ()


def test_a_number_asked_for_by_none_is_the_shops_next(sheet_shop: Any) -> None:
    later = {**ROW, "poured_on": "2025-06-18", "sample_kept": "rack"}
    assert told(sheet_shop.bring({**ROW, "sample": "12"}, later)) == [(3, "sample")]
    sheet_shop.bring({**ROW, "sample": "12"})
    assert sheet_shop.bring(later).bad == ()
    samples = [entry.sample for entry in sheet_shop.only().of_kind("sample") if entry.sample]
    assert [sample.number for sample in samples] == [12, 13]


@pytest.mark.parametrize(
    ("column", "value"),
    [
        *(("sample_kept", "shed"), ("claim_outcome", "refunded"), ("weather", "hail"), ("air_low", "40")),
        *(("cure", "sheet"), ("joints", "tooled"), ("finishing_note", "x"), ("water_gal", "9")),
        *(("admixtures", "retarder"), ("slump_end", "3"), ("sample", "99"), ("sample_signed_by", "Ida")),
    ],
)
def test_a_record_the_log_has_otherwise_is_named(sheet_shop: Any, column: str, value: str) -> None:
    whole = {
        **ROW, "sample": "12", "sample_kept": "rack", "sample_signed_by": "Bo", "sample_signed_on": "2025-06-20",
        "claim": "pale", "claim_on": "2025-09-02", "claim_outcome": "content", "weather": "dry", "air_low": "58",
        "cure": "compound", "joints": "saw", "finishing_note": "smooth", "water_gal": "3", "admixtures": "air",
        "slump_end": "4",
    }  # fmt: skip
    sheet_shop.bring(whole)
    assert sheet_shop.bring(whole).skipped == 1
    report = sheet_shop.bring({**whole, column: value})
    assert told(report) == [(2, column)]


def test_a_load_corrected_since_is_still_the_same_truck(sheet_shop: Any) -> None:
    sheet_shop.bring(ROW, BORDER)
    job = sheet_shop.only()
    load = job.of_kind("load")[0]
    with sheet_shop.services.log().writing() as log:
        again = NewLoad(7, ticket="T-1", areas=(("field", 5), ("border", 2)))
        log.add_entry(job.handle, NewEntry("load", load.happened, "day", replaces=load.number, load=again))
    report = sheet_shop.bring(ROW, BORDER)
    assert (report.bad, report.skipped) == ((), 2)


def test_a_sample_number_stands_on_one_slab(sheet_shop: Any) -> None:
    other = {**ROW, "job": "walk", "sample": "12"}
    report = sheet_shop.bring({**ROW, "sample": "12"}, other)
    assert told(report) == [(3, "sample")]
    sheet_shop.bring({**ROW, "sample": "12"})
    with pytest.raises(InputError) as failure:
        sheet_shop.bring({**ROW, "job": "steps"}, other)
    assert failure.value.line().startswith("pours.csv, line 3, sample: There is already a sample 12.")
    assert len(sheet_shop.jobs()) == 1
