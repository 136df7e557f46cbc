"""A fact that several pages tell is the same on each: the end of the pour, the zone, the reading that stands."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.color.notation.space import lab_to_hex
from finishlog.desk.color import color
from finishlog.desk.doubts import ready
from finishlog.desk.jobs import page as job_page
from finishlog.desk.placed.placed import as_placed
from finishlog.desk.rinse import colors as rinse_colors
from finishlog.desk.services import Services
from finishlog.papers.layout import readings
from finishlog.records.log import Area, Customer, Entry, Job, Load, Reading, Sample, Site
from finishlog.records.page import JobPage
from finishlog.records.shop import Shop
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewSite
from finishlog.store.reading.viewing import view
from finishlog.trade.due import due_lines
from finishlog.tui.desks import looks
from tests.desk.conftest import NOW, SheetShop

UTC_ZONE = ZoneInfo("UTC")
POURED = datetime(2026, 6, 4, 13, tzinfo=UTC)
WALK = Area("a1", "walk", area_ft2=48, depth_in=4)
YARD = Area("a2", "yard", area_ft2=252, depth_in=4)


def entry(number: int, kind: str, hours: float = 0, **facts: object) -> Entry:
    at = POURED + timedelta(hours=hours)
    return Entry(number, f"e{number}", kind, at, at, **facts)  # type: ignore[arg-type]


def job(*entries: Entry, areas: tuple[Area, ...] = (WALK, YARD)) -> Job:
    return Job("j1", "two", "two slabs", Customer("c1", "Gravelpit"), Site("s1", "1 Kettle Row"),
               areas=areas, entries=entries, history=entries)  # fmt: skip


def opens(made: Job, area: Area) -> list[datetime]:
    """What Today counts an area's hours from, where no end was logged."""
    found = due_lines(made, Shop.from_values({}))
    return [line.anchor for line in found if line.area in (None, area.uid) and line.key == "pour_end"]


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    made = SheetShop(tmp_path).services
    made.make_log(None).close()
    yield made
    made.close()


def poured(services: Services, *pours: tuple[str, float], zone: str = "America/Chicago") -> str:
    """A job whose areas were poured so many days ago."""
    with services.log().writing() as log:
        areas = tuple(NewArea(name) for name in dict.fromkeys(name for name, _ in pours))
        made = log.add_job(
            NewJob("slab", NewCustomer("Odo Tatterby"), NewSite("9 Kettle Row", zone=zone), areas=areas)
        )
        for name, days in pours:
            log.add_entry(made.handle, NewEntry("pour", NOW - timedelta(days=days), area=name))
    return made.handle


@pytest.mark.parametrize(("pours", "days"), [
    ((("field", 40), ("field", 5)), 5),  # in two sections: as old as the last
    ((("field", 40), ("repair", 5)), 40),  # the main area's age is the job's
])  # fmt: skip
def test_a_job_of_two_pours_is_as_old_on_its_page_as_on_color(
    services: Services, pours: tuple[tuple[str, float], ...], days: int
) -> None:
    handle = poured(services, *pours)
    page, colors = job_page.lay_open(services, handle), color.job(services, handle)
    assert (page.age_days, page.age_h) == (days, 24 * days)
    assert colors.age_days == days
    assert page.poured_on == colors.poured_on == (NOW - timedelta(days=days)).date()


def test_color_counts_from_the_last_end_though_it_was_read_before(services: Services) -> None:
    handle = poured(services, ("field", 40), ("field", 5))
    with services.log().writing() as log:
        for ago in (39, 33, 4):
            log.add_entry(handle, NewEntry("reading", NOW - timedelta(days=ago), reading=Reading(50, 5, 12)))
    track = color.job(services, handle).areas[0]
    assert [read.age_days for read in track.readings] == [1, 7, 1]
    assert track.today is not None
    assert track.today.age_days == 5


def test_a_load_that_went_to_another_area_is_no_end_of_this_ones_pour() -> None:
    to_yard = Load(4.0, areas=(("a2", 4.0),))
    made = job(entry(1, "load", load=Load(2.0, areas=(("a1", 2.0),))), entry(2, "load", 26, load=to_yard))
    assert opens(made, WALK) == [POURED]
    assert opens(made, YARD) == [POURED + timedelta(hours=26)]


def test_of_loads_and_bags_the_last_counts_on_every_page() -> None:
    made = job(entry(1, "load", load=Load(2.0)), entry(2, "bag_mix", 26, area="a1"), areas=(WALK,))
    last = POURED + timedelta(hours=26)
    assert opens(made, WALK) == [last]
    placed = as_placed(made, WALK, UTC_ZONE)
    assert placed.poured_end == last


def test_an_overlay_of_bags_has_an_age_to_be_sealed_at() -> None:
    made = job(entry(1, "bag_mix", area="a1"), areas=(WALK,))
    assert ready.slab_facts(made, WALK, POURED + timedelta(days=30), UTC_ZONE).age_days == 30


def test_a_job_at_a_zone_that_this_machine_does_not_know_is_shown_in_utc(services: Services) -> None:
    handle = poured(services, ("field", 40), zone="Nowhere/Nettlewick")
    assert job_page.lay_open(services, handle).age_days == 40
    assert color.job(services, handle).age_days == 40


def read(number: int, hours: float, lightness: float, **facts: object) -> Entry:
    area = facts.pop("area", "a2")
    reading = Reading(lightness, 5, 12, **facts)  # type: ignore[arg-type]
    return entry(number, "reading", hours, area=area, reading=reading)


APART = entry(1, "sample", sample=Sample(7))


@pytest.mark.parametrize(("more", "lightness"), [
    ((), 50.0),
    ((read(5, 99, 62), read(6, 100, 40, damp=True)), 62.0),  # the newest dry and bare one
    ((read(5, 99, 62, sealed=True),), 50.0),
    ((read(5, 99, 70, sample=7),), 50.0),  # of a test slab poured apart
    ((read(5, 99, 61, area="a1"),), 50.0),  # of another area than the main one
])  # fmt: skip
def test_one_reading_stands_for_a_slab_on_list_page_sheet_and_beside_the_list(
    more: tuple[Entry, ...], lightness: float
) -> None:
    made = job(APART, entry(2, "pour", -24), read(3, 1, 50), *more)
    placed = as_placed(made, YARD, UTC_ZONE)
    assert placed.base_reading is not None and placed.base_reading.L == lightness  # noqa: PT018, SIM300
    assert view(made, NOW.date()).line.base_hex == lab_to_hex((lightness, 5, 12))
    on_sheet = readings.by_age(made, placed, "base")
    assert on_sheet[-1].reading == placed.base_reading
    page = JobPage(made, view(made, NOW.date()).line, "", 12, (placed,), (), NOW.date())
    assert [look.reading for look in looks.of_job(page) if look.stands] == [placed.base_reading]


def test_a_test_slab_tells_no_release_color_of_the_rinse() -> None:
    made = job(APART, entry(2, "pour", -24), read(3, 1, 50, spot="release color"),
               read(5, 9, 20, spot="release color", sample=7))  # fmt: skip
    known, words = rinse_colors.release_color(made, as_placed(made, YARD, UTC_ZONE), None)
    assert known is not None
    assert known.lab[0] == 50
    assert "1 reading" in words
