"""The sheets of a job: the customer's, and its history."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest

from finishlog.desk.jobs import find
from finishlog.desk.jobs import page as job_page
from finishlog.desk.record import taking_back
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.papers import make
from finishlog.papers.layout import readings
from finishlog.records.log import Reading
from finishlog.records.writing import (
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewJob,
    NewSite,
)
from tests.papers import reading
from tests.papers.conftest import REFERENCE

MANY = "dapplegate-patio"
ODDS = re.compile(
    r"%|\d in \d|chance|odds|likel|probab|identical|same as|guarantee|exact match", re.IGNORECASE
)


def sheet(
    services: Services, job: str, name: make.JobSheet, paper: str = "letter", units: str = "us"
) -> bytes:
    return make.job_sheet(job_page.lay_open(services, job), name, make.look(services, units), paper)


def handles(services: Services) -> list[str]:
    return [line.handle for line in find.page(services).lines]


def test_no_customer_reads_odds_doses_lots_or_our_notes(services: Services) -> None:
    jobs = handles(services)
    assert len(jobs) > 20
    for handle in jobs:
        page = job_page.lay_open(services, handle)
        text = reading.text(sheet(services, handle, "customer"))
        assert not ODDS.search(text), (handle, ODDS.search(text))
        assert "Close, within normal variation; a sample to be approved." in text
        assert "lb/" not in text
        lots = {lot for placed in page.placed for p in placed.pigments for lot in p.lots}
        assert not any(lot in text for lot in lots)
        assert not page.job.note or page.job.note[:25] not in text
        assert not any(entry.note and entry.note[:25] in text for entry in page.job.entries)


@pytest.mark.long
def test_every_customer_s_sheet_is_one_page(services: Services) -> None:
    some = [(handle, "letter") for handle in handles(services)] + [
        (handle, "a4") for handle in (MANY, REFERENCE, "swizzlecote-carport")
    ]
    for handle, paper in some:
        data = sheet(services, handle, "customer", paper)
        assert reading.reader(data).get_num_pages() == 1, handle
    assert reading.marks_inside(sheet(services, MANY, "customer"))


def test_the_customer_reads_what_was_done_and_how_it_moves(services: Services) -> None:
    text = reading.text(sheet(services, REFERENCE, "customer"))
    for wanted in (
        "Wilhelmina Bogglethwaite · front yard", "14 Tumbledown Lane, Nettlewick", "432.0 ft²", "Wednesday Toast",
        "ashlar slate", "Heron's Elbow", "Slick Badger 25, solvent acrylic, 2 coats, sealed Nov 14 2025",
        "Oct 14 2025", "Nov 11 2025", "Nov 28 2025", "about 45 days", "light grayish yellowish brown",
        "resealed between Nov 2028 and Nov 2030", "slippery when wet", "No de-icer in the first winter",
        "walk on it after 24 h", "drive on it after 3 days", "gas line, 18 in down", "approved by", "signature",
    ):  # fmt: skip
        assert wanted in text, wanted


def test_a_planned_job_has_a_customer_s_sheet_too(services: Services) -> None:
    text = reading.text(sheet(services, "swizzlecote-carport", "customer"))
    assert "Uncle's Saddle" in text
    assert "poured" not in text


def test_an_approved_sample_stands_where_the_signature_would(services: Services) -> None:
    from finishlog.records.log import Approval
    from finishlog.records.writing import NewSample

    with services.log().writing() as log:
        happened = datetime(2025, 10, 1, 20, tzinfo=UTC)
        log.add_entry(REFERENCE, NewEntry("sample", happened, sample=NewSample(number=900)))
        log.add_entry(REFERENCE, NewEntry("approval", happened, approval=Approval(900, "W. Bogglethwaite")))
    text = reading.text(sheet(services, REFERENCE, "customer"))
    assert "Sample 900 was approved by W. Bogglethwaite, Oct 1 2025." in text
    assert "signature" not in text


def test_history_has_every_thing_that_was_done(services: Services) -> None:
    page = job_page.lay_open(services, MANY)
    text = reading.text(sheet(services, MANY, "history")).replace(" ", "")
    for done in page.doings:
        for piece in (done.when, done.what, done.note or ""):
            assert piece.replace(" ", "") in text, piece
    assert "low-voltagewire,4indown,underthesecondstep" in text
    for placed in page.placed:
        for pigment in placed.pigments:
            assert pigment.lots[0] in text


def test_history_shows_each_dry_bare_reading_by_its_age(services: Services) -> None:
    from finishlog.color.notation.space import lab_to_srgb

    page = job_page.lay_open(services, REFERENCE)
    data = sheet(services, REFERENCE, "history")
    colors, text = reading.fills(data), reading.text(data)
    seen = [
        e.reading
        for e in page.job.of_kind("reading")
        if e.reading and not e.reading.damp and not e.reading.sealed and e.reading.spot != "field"
    ]
    assert len(seen) > 8
    assert sorted(colors) == sorted(lab_to_srgb((r.L, r.a, r.b)) for r in seen)
    base = readings.by_age(page.job, page.placed[0], "base")
    assert [aged.age for aged in base] == ["25 h", "day 3", "day 7", "day 14", "day 28", "day 45", "day 180"]
    assert all(aged.age in text for aged in base)
    assert "54.7 6.7 16.3" in text


def test_damp_and_sealed_readings_are_no_points_of_the_dry_curve(services: Services) -> None:
    from finishlog.records.log import Reading

    before = readings.by_age(*_placed(services), "base")
    happened = datetime(2026, 1, 5, 18, tzinfo=UTC)
    with services.log().writing() as log:
        for damp, sealed in ((True, False), (False, True)):
            log.add_entry(REFERENCE, NewEntry(
                "reading", happened, area="field", reading=Reading(30, 5, 5, damp=damp, sealed=sealed)
            ))  # fmt: skip
    assert readings.by_age(*_placed(services), "base") == before


def _placed(services: Services):  # type: ignore[no-untyped-def]
    page = job_page.lay_open(services, REFERENCE)
    return page.job, page.placed[0]


def test_a_correction_is_shown_under_what_it_corrected(services: Services) -> None:
    page = job_page.lay_open(services, REFERENCE)
    rinse = page.job.of_kind("rinse")[0]
    with services.log().writing() as log:
        log.add_entry(REFERENCE, NewEntry(
            "rinse", rinse.happened, area="field", facts={"release_left_percent": 15}, replaces=rinse.number
        ))  # fmt: skip
    text = reading.text(sheet(services, REFERENCE, "history"))
    assert "15 % left" in text
    assert "logged first, later corrected: rinsed, 20 % left" in text.replace("  ", " ")


def test_what_was_withdrawn_is_not_called_corrected(services: Services) -> None:
    rinse = job_page.lay_open(services, REFERENCE).job.of_kind("rinse")[0]
    taking_back.undo(services, REFERENCE, rinse.number)
    text = reading.text(sheet(services, REFERENCE, "history")).replace("  ", " ")
    assert "withdrawn: rinsed, 20 % left" in text
    assert "corrected: rinsed" not in text


HOSTILE = "🏡 庭 \x1b[31m \u202eevil Zoë Ångström {nb} (\\) שלום [/nope] ½ Δ"


@pytest.fixture
def hostile(services: Services) -> str:
    """A job whose every text is as bad as a text can be, with a hundred things buried and noted."""
    long = "unbroken" * 16
    with services.log().writing() as log:
        job = log.add_job(NewJob(
            name=f"{HOSTILE} {long}", customer=NewCustomer(HOSTILE), site=NewSite(long, HOSTILE, "UTC"),
            note="\n".join([HOSTILE] * 5), areas=(NewArea("field"), NewArea(f"{HOSTILE} two", "border")),
            buried=tuple(NewBuried(f"pipe {number}", HOSTILE, number) for number in range(100)), handle="hostile",
        ))  # fmt: skip
        for number in range(100):
            log.add_entry(job.handle, NewEntry(
                "note", datetime(2025, 1, 1, tzinfo=UTC), person=long, note=f"note {number} {HOSTILE}"
            ))  # fmt: skip
        log.add_entry(
            job.handle, NewEntry("note", datetime(2025, 1, 2, tzinfo=UTC), note="word " * 3990 + "end.")
        )
    return job.handle


@pytest.mark.parametrize("name", make.JOB_SHEETS)
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_worst_text_makes_a_sound_sheet(
    services: Services, hostile: str, name: make.JobSheet, paper: str
) -> None:
    data = sheet(services, hostile, name, paper)
    found = reading.pages(data)
    whole = " ".join(found)
    assert reading.marks_inside(data)
    assert "\x1b" not in whole
    assert "\u202e" not in whole
    assert "\\x1b[31m" in whole
    assert "{nb}" in whole
    assert "Zoë Ångström" in whole
    assert "□ □" in whole
    for number, page in enumerate(found, 1):
        assert f"{number} of {len(found)}" in page
    assert all(f"pipe {number}," in whole for number in range(100))


def test_a_hundred_lines_flow_over_pages_whole(services: Services, hostile: str) -> None:
    found = reading.pages(sheet(services, hostile, "history"))
    whole = " ".join(found)
    assert len(found) > 5
    assert all(f"note {number} " in whole for number in range(100))
    assert whole.count("word") == 3990
    assert "continued" in whole
    assert "unbroken" * 3 in found[0]
    assert all("Job history" in page for page in found)


def test_metric(services: Services) -> None:
    text = reading.text(sheet(services, REFERENCE, "customer", units="metric"))
    assert "40.13 m²" in text
    assert "102 mm thick" in text
    assert " ft²" not in text


def test_a_job_without_an_area_is_refused(services: Services) -> None:
    with services.log().writing() as log:
        handle = log.add_job(NewJob("empty", NewCustomer("Nobody Yet"), NewSite("1 Blank Row"))).handle
    with pytest.raises(InputError, match="no area"):
        sheet(services, handle, "customer")


def test_the_customer_counts_in_days_and_reads_which_area_it_was(services: Services) -> None:
    text = reading.text(sheet(services, REFERENCE, "customer"))
    assert "day 1" in text
    assert "25 h" not in text
    several = next(
        page
        for handle in (MANY, "dapplegate-patio")
        if len((page := job_page.lay_open(services, handle)).placed) > 1
    )
    with services.log().writing() as log:
        happened = datetime(2026, 6, 1, 20, tzinfo=UTC)
        for day in (0, 1):
            log.add_entry(several.job.handle, NewEntry(
                "reading", happened + timedelta(days=day), area=several.placed[0].area.name,
                reading=Reading(60, 5, 15),
            ))  # fmt: skip
    text = reading.text(sheet(services, several.job.handle, "customer"))
    assert f"The {several.placed[0].area.name} so far" in text


def test_of_a_planned_job_nothing_is_missing_yet(services: Services) -> None:
    text = reading.text(sheet(services, "swizzlecote-carport", "history"))
    assert "not yet" in text
    assert "not logged" not in text
    assert "Not on record" not in text


def test_how_to_reach_the_shop_stands_in_every_foot_as_far_as_it_is_set(services: Services) -> None:
    quiet = "12 Teakettle Lane, Puddlecombe · 555-0100 · nils@example.com"
    for name in ("customer", "history"):
        assert all(quiet in page for page in reading.pages(sheet(services, MANY, name)))
    with services.log().writing() as log:
        log.set_setting("shop_street", None)
        log.set_setting("shop_email", None)
    page = reading.text(sheet(services, MANY, "customer"))
    assert "555-0100" in page
    assert "555-0100 ·" not in page
    assert "Teakettle" not in page
