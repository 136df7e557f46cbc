"""The paper log in: all or nothing, every bad line named, nothing told twice, nothing lost."""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finishlog.desk.exchange import exchange, write
from finishlog.desk.placed.placed import as_placed
from finishlog.desk.services import Services
from finishlog.errors import InputError, LogError
from finishlog.inputs.paper_log import sheet
from finishlog.plain import has_ink
from finishlog.records.exchange import ImportReport
from finishlog.records.log import Job
from finishlog.records.writing import NewEntry, NewLoad
from finishlog.store import Log

NOW = datetime(2026, 6, 16, 12, tzinfo=UTC)
ZONE = ZoneInfo("America/Chicago")
ROW = {
    "customer": "Hollis Numbletoft",
    "job": "back patio",
    "street": "9 Snail Stair",
    "poured_on": "2025-06-16",
    "yards": "6.75",
    "base": "Wednesday Toast",
    "base_lot": "W-1",
    "dose": "7 lb/yd3",
}


class Shop:
    """A log in a folder, and a sheet beside it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.log = folder / "shop.finishlog"
        self.services = Services(
            open_log=lambda: self._open(),
            has_log=lambda: True,
            make_log=lambda where, fill=None: Log.create(
                where or str(self.log), clock=lambda: NOW, new_uid=lambda: uuid4().hex, fill=fill
            ),
            clock=lambda: NOW,
            find_zone=lambda: ZONE,
        )

    def _open(self) -> Log:
        return Log.open(str(self.log), clock=lambda: NOW, new_uid=lambda: uuid4().hex)

    def bring(self, *rows: Mapping[str, str], check: bool = False, new: bool | None = None) -> ImportReport:
        path = self.folder / "pours.csv"
        path.write_text(table(rows), encoding="utf-8", newline="")
        make = not self.log.exists() if new is None else new
        return exchange.bring_in(self.services, path, check=check, new=make)

    def jobs(self) -> tuple[Job, ...]:
        with self.services.log().reading() as log:
            return tuple(log.job(line.handle) for line in log.lines())

    def only(self) -> Job:
        [job] = self.jobs()
        return job


def table(rows: Sequence[Mapping[str, str]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, list(dict.fromkeys(key for row in rows for key in row)))
    writer.writeheader()
    writer.writerows({key: sheet.shield(text) for key, text in row.items()} for row in rows)
    return out.getvalue()


@contextmanager
def opened() -> Iterator[Shop]:
    with tempfile.TemporaryDirectory() as folder:
        shop = Shop(Path(folder))
        try:
            yield shop
        finally:
            shop.services.close()


@pytest.fixture
def shop() -> Iterator[Shop]:
    with opened() as made:
        yield made


def told(report: ImportReport) -> list[tuple[int, str]]:
    return [(remark.line, remark.column) for remark in report.bad]


# one row


def test_a_row_becomes_a_job_with_its_pour_and_load(shop: Shop) -> None:
    report = shop.bring(ROW)
    assert (report.rows, report.jobs_added, report.pours_added, report.skipped) == (1, 1, 1, 0)
    assert report.written
    assert report.bad == report.flagged == ()
    job = shop.only()
    assert (job.customer.name, job.name, job.site.street) == (
        "Hollis Numbletoft",
        "back patio",
        "9 Snail Stair",
    )
    assert job.site.zone == "America/Chicago"
    assert [entry.kind for entry in job.entries] == ["pour", "load"]
    pour, load = job.entries
    assert pour.exactness == "day"
    assert pour.happened.astimezone(ZONE).date() == date(2025, 6, 16)
    assert load.load is not None
    assert load.load.yards == 6.75
    assert load.materials[0].amount == 47.25
    assert load.materials[0].lot == "W-1"
    assert job.areas[0].recipe is not None
    assert job.areas[0].recipe.frozen is not None


def test_the_least_row_is_a_stub_and_welcome(shop: Shop) -> None:
    shop.bring({"customer": "Gus", "poured_on": "2024-05-02"}, {"job": "porch", "poured_on": "2024-05-02"})
    assert sorted((job.customer.name, job.name) for job in shop.jobs()) == [
        ("Gus", "pour of 2024-05-02"),
        ("unknown", "porch"),
    ]


def test_two_unknown_streets_are_two_sites(shop: Shop) -> None:
    shop.bring(
        {"customer": "Gus", "poured_on": "2024-05-02", "buried": "gas line"},
        {"customer": "Ida", "poured_on": "2024-05-03", "buried": ""},
    )
    assert {job.customer.name: len(job.buried) for job in shop.jobs()} == {"Gus": 1, "Ida": 0}


def test_percent_is_of_cementitious_and_exact(shop: Shop) -> None:
    # 4 % of 470 + 94 = 564 lb/yd3 is 22.56 lb/yd3; by 6.75 yd3 152.28 lb
    shop.bring({**ROW, "dose": "4 %", "cement": "470", "scm": "94"})
    assert shop.only().of_kind("load")[0].materials[0].amount == 152.28


def test_a_dose_that_hangs_on_an_unknown_cement_is_not_lost(shop: Shop) -> None:
    shop.bring({**ROW, "dose": "4 %"})
    job = shop.only()
    load = job.of_kind("load")[0]
    assert load.materials[0].amount is None
    assert load.note == "dose as written: Wednesday Toast 4 %"
    assert job.areas[0].recipe is not None
    stage = job.areas[0].recipe.stage("integral_color")
    assert stage is not None
    assert (stage.materials[0].rate, stage.materials[0].unit) == (4, "%")


def test_a_dose_without_yards_still_counts_as_placed(shop: Shop) -> None:
    shop.bring({**ROW, "yards": ""})
    job = shop.only()
    placed = as_placed(job, job.areas[0], ZONE)
    assert placed.dose_lb_per_yd3 == 7
    assert placed.dose_from == "recipe"


def test_weighed_pounds_go_before_the_planned_dose(shop: Shop) -> None:
    shop.bring({**ROW, "base_lb": "40 lb 8 oz"})
    assert shop.only().of_kind("load")[0].materials[0].amount == 40.5


def test_a_blend_is_two_pigments(shop: Shop) -> None:
    shop.bring({**ROW, "base_2": "Mole at Noon", "dose_2": "0.5 lb/yd3"})
    uses = shop.only().of_kind("load")[0].materials
    assert [(use.product.name, use.amount) for use in uses] == [
        ("Wednesday Toast", 47.25),
        ("Mole at Noon", 3.375),
    ]


def test_a_balance_load_takes_the_leftover(shop: Shop) -> None:
    shop.bring({**ROW, "balance_yards": "2", "returned": "1.25", "dumped": "0"})
    first, last = (entry.load for entry in shop.only().of_kind("load"))
    assert first is not None
    assert last is not None
    assert (first.placed_yd3, first.is_balance) == (6.75, False)
    assert (last.placed_yd3, last.is_balance) == (0.75, True)


def test_a_leftover_nobody_wrote_down_stays_unknown(shop: Shop) -> None:
    shop.bring(ROW)
    load = shop.only().of_kind("load")[0].load
    assert load is not None
    assert load.returned_yd3 is None
    assert load.placed_yd3 is None


def test_the_finish_is_read_whole(shop: Shop) -> None:
    shop.bring(
        {
            **ROW,
            "poured_end": "11:30 am",
            "release": "Heron's Elbow",
            "release_lb": "15",
            "area_ft2": "432",
            "pattern": "ashlar slate",
            "rinse_age": "36 h",
            "rinse_psi": "2000",
            "release_left": "20",
            "sealer": "Slick Badger",
            "sealer_chemistry": "solvent acrylic",
            "coats": "2",
            "sealed_on": "2025-07-15",
            "resealed_on": "2026-05-02",
            "base_color": "62, 4, 16",
            "release_color": "41,3,9",
            "color_age": "45",
        }
    )
    job = shop.only()
    placed = as_placed(job, job.areas[0], ZONE)
    assert (placed.release, placed.release_lb, placed.pattern) == ("Heron's Elbow", 15, "ashlar slate")
    assert (placed.rinse_age_h, placed.release_left_percent) == (36, 20)
    assert [(coat.reseal, coat.age_days) for coat in placed.coats] == [(False, 29), (False, 29), (True, 320)]
    assert placed.coats[0].chemistry == "solvent acrylic"
    assert placed.base_reading is not None
    assert (placed.base_reading.L, placed.base_read_on) == (62, date(2025, 7, 31))
    assert placed.release_reading is not None


def test_a_rinse_age_is_kept_where_the_hour_of_the_pour_is_not_known(shop: Shop) -> None:
    shop.bring({**ROW, "rinse_age": "36"})
    job = shop.only()
    assert as_placed(job, job.areas[0], ZONE).rinse_age_h == 36


# jobs of several rows


def test_rows_of_one_job_are_its_areas_and_its_further_pours(shop: Shop) -> None:
    report = shop.bring(
        ROW,
        {**ROW, "area": "border", "area_kind": "border"},
        {**ROW, "poured_on": "2025-06-18", "customer": "HOLLIS  numbletoft"},
        {**ROW, "job": "steps"},
    )
    assert (report.jobs_added, report.pours_added) == (2, 4)
    patio = next(job for job in shop.jobs() if job.name == "back patio")
    assert [area.name for area in patio.areas] == ["field", "border"]
    assert len(patio.of_kind("pour")) == 3


def test_a_second_truck_is_a_second_row_with_its_own_ticket(shop: Shop) -> None:
    report = shop.bring(
        {**ROW, "ticket": "T-1", "plant": "Lower Thimble", "release": "Gravy Moon"},
        {**ROW, "ticket": "T-2", "yards": "2", "dose": "6 lb/yd3", "plant": "Lower Thimble", "release": ""},
    )
    assert (report.bad, report.pours_added) == ((), 1)
    job = shop.only()
    assert [entry.load.ticket for entry in job.of_kind("load") if entry.load] == ["T-1", "T-2"]
    assert [entry.materials[0].amount for entry in job.of_kind("load")] == [47.25, 12]
    assert len(job.of_kind("powder_release")) == 1


def test_later_rows_fill_in_what_earlier_ones_left_blank(shop: Shop) -> None:
    shop.bring(
        {**ROW, "town": "", "phone": "555-0101", "buried": "gas line", "area_ft2": ""},
        {**ROW, "poured_on": "2025-06-18", "town": "Nettlewick", "buried": "wire", "area_ft2": "445"},
    )
    job = shop.only()
    assert (job.site.town, job.customer.phone, job.areas[0].area_ft2) == ("Nettlewick", "555-0101", 445)
    assert {item.what for item in job.buried} == {"gas line", "wire"}


@pytest.mark.parametrize(
    ("column", "one", "other"),
    [("town", "Nettlewick", "Crumbleford"), ("phone", "555-0101", "555-0102"), ("area_ft2", "445", "450")],
)
def test_rows_that_tell_one_job_in_two_ways_are_named(shop: Shop, column: str, one: str, other: str) -> None:
    report = shop.bring({**ROW, column: one}, {**ROW, "poured_on": "2025-06-18", column: other})
    assert told(report) == [(3, column)]


# told before


def test_bringing_a_sheet_in_twice_adds_nothing(shop: Shop) -> None:
    rows = [ROW, {**ROW, "poured_on": "2025-06-18"}, {**ROW, "area": "border"}]
    shop.bring(*rows)
    before = shop.jobs()
    report = shop.bring(*rows)
    assert (report.jobs_added, report.pours_added, report.skipped, report.bad) == (0, 0, 3, ())
    assert shop.jobs() == before


def test_a_row_twice_in_one_sheet_is_skipped(shop: Shop) -> None:
    report = shop.bring(ROW, {**ROW, "yards": "6 3/4 yd", "base": "WEDNESDAY TOAST"})
    assert (report.pours_added, report.skipped) == (1, 1)


@pytest.mark.parametrize(
    ("column", "value"), [("yards", "7"), ("dose", "8 lb/yd3"), ("base_lot", "W-2"), ("note", "x")]
)
def test_a_row_told_otherwise_in_one_sheet_is_named(shop: Shop, column: str, value: str) -> None:
    report = shop.bring(ROW, {**ROW, column: value})
    assert told(report) == [(3, column)]
    assert "Line 2" in report.bad[0].what
    assert not shop.log.exists()


@pytest.mark.parametrize(
    ("column", "value"),
    [
        *(("yards", "7"), ("base_lot", "W-2"), ("base", "Damp Sparrow"), ("ticket", "T-9"), ("slump", "5")),
        *(
            ("pattern", "cobble"),
            ("area_ft2", "450"),
            ("release_lb", "12"),
            ("returned", "1"),
            ("cement", "500"),
        ),
        *(("sealed_on", "2025-07-20"), ("note", "x"), ("poured_end", "2 pm"), ("base_color", "62,4,16")),
    ],
)
def test_a_pour_the_log_has_otherwise_is_named(shop: Shop, column: str, value: str) -> None:
    whole = {
        **ROW,
        "pattern": "ashlar",
        "area_ft2": "445",
        "release": "Gravy Moon",
        "release_lb": "14",
        "ticket": "T-1",
        "slump": "4.5",
        "cement": "564",
        "returned": "0.5",
        "sealed_on": "2025-07-15",
        "poured_end": "1 pm",
        "base_color": "60,4,16",
        "color_age": "30",
    }
    shop.bring(whole)
    report = shop.bring({**whole, column: value})
    assert [where for where, _ in told(report)] == [2]
    assert report.bad[0].column == column
    assert "hollis-numbletoft-back-patio" in report.bad[0].what
    assert not report.written


def test_a_pour_that_was_corrected_in_the_log_since_is_still_the_same(shop: Shop) -> None:
    shop.bring(ROW)
    load = shop.only().of_kind("load")[0]
    with shop.services.log().writing() as log:
        again = NewEntry("load", load.happened, "day", "field", replaces=load.number, load=NewLoad(6.5))
        log.add_entry(shop.only().handle, again)
    report = shop.bring(ROW)
    assert (report.skipped, report.bad) == (1, ())


def test_a_further_pour_goes_to_the_job_the_log_has(shop: Shop) -> None:
    shop.bring({**ROW, "buried": "gas line", "phone": "555-0101"})
    more = {**ROW, "poured_on": "2025-06-20", "area": "steps", "buried": "wire", "phone": "555-0102"}
    report = shop.bring(more, {**more, "poured_on": "2025-06-21", "buried": "gas line"})
    assert (report.jobs_added, report.pours_added, report.bad) == (0, 2, ())
    assert {(remark.line, remark.column) for remark in report.flagged} == {(2, "phone"), (3, "phone")}
    job = shop.only()
    assert [area.name for area in job.areas] == ["field", "steps"]
    assert sorted(item.what for item in job.buried) == ["gas line", "wire"]
    assert job.customer.phone == "555-0101"


# what is wrong


def test_one_bad_line_and_nothing_is_written(shop: Shop) -> None:
    shop.bring(ROW)
    before = shop.jobs()
    good = {**ROW, "job": "steps"}
    report = shop.bring(good, {**good, "poured_on": "03/04/2025", "dose": "7"}, {**good, "yards": "-1"})
    assert told(report) == [(3, "poured_on"), (3, "dose"), (4, "yards")]
    assert not report.written
    assert shop.jobs() == before


def test_a_check_writes_nothing(shop: Shop) -> None:
    report = shop.bring(ROW, check=True)
    assert (report.jobs_added, report.pours_added, report.written) == (1, 1, False)
    assert not shop.log.exists()
    shop.bring(ROW)
    report = shop.bring({**ROW, "job": "steps"}, check=True)
    assert (report.jobs_added, report.written) == (1, False)
    assert len(shop.jobs()) == 1


def test_a_new_log_is_not_left_behind_by_a_sheet_that_is_wrong(shop: Shop) -> None:
    assert told(shop.bring({**ROW, "yards": "x"})) == [(2, "yards")]
    assert [path.name for path in shop.folder.iterdir()] == ["pours.csv"]


def test_a_new_log_is_not_left_behind_by_a_fault(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("a fault")

    monkeypatch.setattr(write, "write", fail)
    with pytest.raises(RuntimeError):
        shop.bring(ROW)
    assert [path.name for path in shop.folder.iterdir()] == ["pours.csv"]


def test_new_refuses_a_log_that_exists(shop: Shop) -> None:
    shop.bring(ROW)
    with pytest.raises((LogError, InputError)):
        shop.bring({**ROW, "job": "steps"}, new=True)
    assert len(shop.jobs()) == 1


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ({"poured_on": ""}, "poured_on"),
        ({"customer": "", "job": ""}, "customer"),
        ({"poured_on": "2026-06-17"}, "poured_on"),
        ({"rinsed_on": "2025-06-15"}, "rinsed_on"),
        ({"sealed_on": "2025-06-15"}, "sealed_on"),
        ({"sealed_on": "2026-12-01"}, "sealed_on"),
        ({"rinsed_on": "2025-06-18", "rinse_age": "40"}, "rinse_age"),
        ({"rinsed_at": "7:30 am"}, "rinsed_at"),
        ({"release_left": "20"}, "release_left"),
        ({"rinse_psi": "2000"}, "rinse_psi"),
        ({"base_color": "62,4,16"}, "base_color"),
        ({"base_color": "62,4,16", "color_on": "2025-07-31", "color_age": "45"}, "color_age"),
        ({"base_color": "62,4,16", "color_age": "36500"}, "color_age"),
        ({"buried_where": "by the fence"}, "buried"),
        ({"returned": "5", "dumped": "2"}, "returned"),
        ({"note": "x" * 4001}, "note"),
        ({"customer": "x" * 100_000}, "customer"),
        ({"poured_on": "2025-02-30"}, "poured_on"),
        ({"release_left": "101", "rinse_age": "36"}, "release_left"),
        ({"yards": "5 lb"}, "yards"),
    ],
)
def test_what_cannot_be_so_is_a_bad_line(shop: Shop, cells: dict[str, str], column: str) -> None:
    report = shop.bring({**ROW, **cells})
    assert told(report) == [(2, column)]
    assert len(report.bad[0].text()) < 300


def test_today_is_not_the_future(shop: Shop) -> None:
    assert shop.bring({**ROW, "poured_on": "2026-06-16"}).bad == ()


# out of the ordinary


def test_a_past_dose_over_the_limit_is_kept_and_flagged(shop: Shop) -> None:
    # ASTM C979/C979M section 1.4: at most 10 % of the cement's mass
    report = shop.bring({**ROW, "dose": "57 lb/yd3", "cement": "564"})
    assert [(flag.line, flag.column) for flag in report.flagged if "C979" in flag.what] == [(2, "dose")]
    assert "10.1 %" in report.flagged[0].what
    assert shop.only().of_kind("load")[0].materials[0].amount == 384.75


def test_a_dose_at_the_limit_is_not_over_it(shop: Shop) -> None:
    report = shop.bring({**ROW, "dose": "56.4 lb/yd3", "cement": "564"})
    assert not [flag for flag in report.flagged if "C979" in flag.what]


def test_a_blend_is_held_to_its_smallest_maximum(shop: Shop) -> None:
    report = shop.bring({**ROW, "dose": "50 lb/yd3", "cement": "564", "base_max": "8"})
    assert "8 %" in next(flag.what for flag in report.flagged if "C979" in flag.what)


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ({"slump": "8"}, "slump"),
        ({"cement": "300", "scm": "0"}, "cement"),
        ({"dose": "0.2 lb/yd3", "cement": "564"}, "dose"),
        ({"release": "Gravy Moon", "release_lb": "40", "area_ft2": "400"}, "release_lb"),
        ({"rinse_age": "8 h"}, "rinse_age"),
        ({"rinse_age": "36 h", "rinse_psi": "3500"}, "rinse_psi"),
        ({"sealed_on": "2025-06-20"}, "sealed_on"),
        ({"area_ft2": "100", "depth": "4"}, "yards"),
    ],
)
def test_unusual_facts_are_kept_and_flagged(shop: Shop, cells: dict[str, str], column: str) -> None:
    report = shop.bring({**ROW, **cells})
    assert [(flag.line, flag.column) for flag in report.flagged] == [(2, column)]
    assert report.written


# any text, any row


def test_a_formula_is_read_back_without_its_mark(shop: Shop) -> None:
    shop.bring({**ROW, "note": "=SUM(A1)", "job": "'quoted'"})
    job = shop.only()
    assert job.name == "'quoted'"
    assert job.of_kind("pour")[0].note == "=SUM(A1)"


NO_NUL = st.characters(exclude_categories=["Cs"], exclude_characters="\0")


@settings(max_examples=25, deadline=None)
@given(
    st.text(NO_NUL, min_size=1, max_size=60).filter(has_ink),
    st.text(NO_NUL, max_size=200).filter(lambda note: not note.strip() or has_ink(note)),
)
def test_any_text_survives(name: str, note: str) -> None:
    with opened() as shop:
        report = shop.bring({**ROW, "customer": name, "street": name, "note": note})
        assert report.bad == ()
        job = shop.only()
        assert (job.customer.name, job.site.street) == (name.strip(), name.strip())
        assert job.of_kind("pour")[0].note == (note.strip() or None)


def some(*texts: str) -> st.SearchStrategy[str]:
    return st.sampled_from(["", *texts])


ANY_ROW = st.fixed_dictionaries(
    {
        "customer": st.sampled_from(["Gus", "Ida Q."]),
        "job": some("patio", "steps"),
        "street": some("9 Snail Stair"),
        "town": some("Nettlewick"),
        "area": some("field", "border"),
        "area_ft2": some("445"),
        "exposure": some("sun"),
        "buried": some("gas line"),
        "poured_on": st.dates(date(2025, 1, 1), date(2025, 1, 4)).map(str),
        "poured_end": some("2 pm"),
        "yards": some("6.75", "1/3"),
        "returned": some("0", "1/4"),
        "dumped": some("0"),
        "balance_yards": some("2"),
        "ticket": some("T-1", "T-2"),
        "plant": some("Lower Thimble"),
        "cement": some("470"),
        "scm": some("94"),
        "slump": some("4 1/2"),
        "base": some("Wednesday Toast"),
        "base_lot": some("W-1"),
        "dose": some("7 lb/yd3", "4 %", "1.5 lb/sack", "3 kg/m3"),
        "base_lb": some("40 lb 3 oz"),
        "base_2": some("Mole at Noon"),
        "dose_2": some("0.5 lb/yd3"),
        "release": some("Gravy Moon"),
        "release_lb": some("14.5"),
        "pattern": some("ashlar slate"),
        "rinse_age": some("36 h"),
        "sealer": some("Slick Badger"),
        "sealer_chemistry": some("water acrylic"),
        "coats": some("2"),
        "sealed_on": some("2025-03-01"),
        "resealed_on": some("2026-03-01"),
        "note": some("two passes"),
        "truck_yards": some("9"),
        "sample": some("7", "8"),
        "sample_kept": some("rack"),
        "cure": some("compound"),
        "air_low": some("58"),
        "weather": some("dry"),
        "claim": some("pale"),
        "claim_on": some("2025-09-01"),
        "base_color": some("10YR 6/3"),
        "color_age": some("45"),
    }
)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(ANY_ROW, min_size=1, max_size=4))
def test_whatever_came_in_is_known_when_it_comes_again(rows: list[dict[str, str]]) -> None:
    with opened() as shop:
        first = shop.bring(*rows)
        if first.bad:
            assert not shop.log.exists()
            return
        before = shop.jobs()
        assert len(before) == first.jobs_added
        again = shop.bring(*rows)
        assert again.bad == ()
        assert (again.jobs_added, again.pours_added, again.skipped) == (0, 0, len(rows))
        assert shop.jobs() == before


def test_the_template_is_an_empty_sheet(shop: Shop) -> None:
    path = shop.folder / "pours.csv"
    path.write_text(exchange.template(), encoding="utf-8")
    report = exchange.bring_in(shop.services, path, new=True)
    assert (report.rows, report.pours_added, report.bad) == (0, 0, ())


def test_a_row_under_the_template_comes_in(shop: Shop) -> None:
    path = shop.folder / "pours.csv"
    columns = [column.key for column in exchange.COLUMNS]
    examples = {column.key: column.example.split(" or ")[0] for column in exchange.COLUMNS}
    for other in ("rinse_age", "color_age"):
        examples[other] = ""
    examples["resealed_on"] = "2026-05-20"
    out = io.StringIO()
    csv.DictWriter(out, columns).writerow(examples)
    path.write_text(exchange.template() + out.getvalue(), encoding="utf-8")
    report = exchange.bring_in(shop.services, path, new=True)
    assert report.bad == ()
    job = shop.only()
    kinds = {entry.kind for entry in job.entries}
    assert kinds == {
        *("pour", "load", "sample", "approval", "bag_mix", "finishing", "powder_release", "stamp", "cure"),
        *("joint", "weather", "rinse", "seal", "reading", "claim"),
        *("color_hardener", "liquid_release", "antiquing_wash", "stain"),
    }
    assert job.entries[-1].happened - job.entries[0].happened > timedelta(days=300)
