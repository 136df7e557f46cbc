"""The blend bench: samples of a sheet or of the log, limits, the ladder, and what cannot be told."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from finishlog.color.notation.space import delta_e_2000
from finishlog.desk.blend import blend
from finishlog.desk.blend.blend import BlendRequest
from finishlog.desk.blend.samples import Samples, of_log
from finishlog.desk.services import Services
from finishlog.errors import InputError, LimitError
from finishlog.records.color import SampleRow
from finishlog.records.log import Reading
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewProduct, NewSample, NewSite
from finishlog.store import Log
from tests.color.pigment.test_blend import DOSES, exact

NOW = datetime(2026, 6, 16, 12, tzinfo=UTC)
WANTED = tuple(exact(DOSES[7:8])[0])  # one percent of each, by the truth of the samples
RUST = NewProduct("Rust", "pigment", "Puddle Minerals")
SOOT = NewProduct("Soot", "pigment", "Puddle Minerals", max_percent_of_cement=5.0)


def rows(cement: str | None = None, photos: int | None = 3) -> tuple[SampleRow, ...]:
    return tuple(
        SampleRow(str(n), cement, {"Rust": d[0], "Soot": d[1]}, tuple(lab), (0.3, 0.3, 0.3), photos)
        for n, (d, lab) in enumerate(zip(DOSES, exact(DOSES), strict=True), start=1)
    )


def sheet(*more: SampleRow, **options: str | int | None) -> Samples:
    return Samples(("Rust", "Soot"), (*rows(**options), *more))  # type: ignore[arg-type]


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    """A shop without a log, until one is made at shop.finishlog."""
    path = tmp_path / "shop.finishlog"
    made = Services(
        open_log=lambda: Log.open(path, clock=lambda: NOW, new_uid=lambda: uuid4().hex),
        has_log=path.exists,
        make_log=lambda where, fill=None: Log.create(
            where or path, clock=lambda: NOW, new_uid=lambda: uuid4().hex, fill=fill
        ),
        clock=lambda: NOW,
        find_zone=lambda: ZoneInfo("America/Chicago"),
    )
    yield made
    made.close()


def test_a_sheet_gives_doses_by_percent_and_by_the_yard(services: Services) -> None:
    found = blend.answer(services, BlendRequest(WANTED, samples=sheet()))
    assert found.found is not None
    assert found.verdict == "in reach"
    assert found.found.doses == pytest.approx({"Rust": 1.0, "Soot": 1.0}, abs=0.06)
    assert found.found.lb_per_yd3["Rust"] == pytest.approx(found.found.doses["Rust"] * 5.64)
    assert delta_e_2000(exact([list(found.found.doses.values())])[0], WANTED) < 0.3
    assert found.content_assumed
    assert [rung.factor for rung in found.ladder] == [0.8, 0.9, 1.0, 1.1, 1.2]
    assert any("ASTM C979" in source for source in found.sources)


def test_the_limit_counts_cement_alone(services: Services) -> None:
    # ASTM C979/C979M §1.4: 10 % of 282 lb of cement are 5 % of 564 lb of cementitious.
    dark = tuple(exact([[0.0, 9.5]])[0])
    half = BlendRequest(dark, samples=sheet(), scm_lb_per_yd3=Fraction(282))
    found = blend.answer(services, half)
    assert found.found is not None
    assert found.found.limit_percent == pytest.approx(5)
    assert sum(found.found.doses.values()) <= 5
    assert sum(blend.answer(services, BlendRequest(dark, samples=sheet())).found.doses.values()) > 5  # type: ignore[union-attr]


def test_doses_said_never_break_the_limit_by_rounding(services: Services) -> None:
    dark = tuple(exact([[5.0, 5.0]])[0])
    for most in (3.333, 1.005, 7.7777):
        found = blend.answer(services, BlendRequest(dark, samples=sheet(), maximum_percent=most))
        assert found.found is not None
        assert sum(Fraction(str(dose)) for dose in found.found.doses.values()) <= Fraction(str(most))


def test_more_than_ten_percent_is_refused(services: Services) -> None:
    with pytest.raises(LimitError, match="C979"):
        blend.answer(services, BlendRequest(WANTED, samples=sheet(), maximum_percent=10.5))


def test_only_the_pigments_asked_for_go_in(services: Services) -> None:
    found = blend.answer(services, BlendRequest(WANTED, samples=sheet(), pigments=("soot",)))
    assert found.found is not None
    assert list(found.found.doses) == ["Soot"]
    with pytest.raises(InputError, match="No sample has “Mud”"):
        blend.answer(services, BlendRequest(WANTED, samples=sheet(), pigments=("Mud",)))


def test_pigments_that_cannot_be_told_are_named_and_not_guessed(services: Services) -> None:
    ratio = SampleRow("r", None, {"Straw": 1.0, "Clay": 2.0}, (60.0, 6.0, 15.0), (0.3, 0.3, 0.3), 3)
    samples = Samples(("Rust", "Soot", "Straw", "Clay"), (*rows(), ratio))
    found = blend.answer(services, BlendRequest(WANTED, samples=samples))
    assert [set(each.pigments) for each in found.unknown] == [{"Straw", "Clay"}]
    assert "cannot be told apart" in found.unknown[0].why
    assert found.found is not None
    assert list(found.found.doses) == ["Rust", "Soot"]


def test_with_nothing_to_tell_from_there_is_no_dose(services: Services) -> None:
    few = tuple(
        SampleRow(str(n), None, {"Rust": 3.0}, (50.0 + n, 9.0, 12.0), (0.5, 0.5, 0.5), 3) for n in range(3)
    )
    found = blend.answer(services, BlendRequest(WANTED, samples=Samples(("Rust",), few)))
    assert (found.verdict, found.found, found.ladder) == ("cannot tell", None, ())
    assert "plain one" in found.unknown[0].why


def test_samples_of_two_cements_are_never_mixed(services: Services) -> None:
    both = Samples(("Rust", "Soot"), (*rows("gray"), *rows("white")))
    with pytest.raises(InputError, match="several cements"):
        blend.answer(services, BlendRequest(WANTED, samples=both))
    found = blend.answer(services, BlendRequest(WANTED, cement="White", samples=both))
    assert (found.samples, found.cement) == (10, "White")
    with pytest.raises(InputError, match="No sample uses this cement"):
        blend.answer(services, BlendRequest(WANTED, cement="slag", samples=both))


def test_the_ladder_that_was_read_moves_the_dose(services: Services) -> None:
    first = blend.answer(services, BlendRequest(WANTED, samples=sheet()))
    read = tuple(
        SampleRow(f"l{n}", None, rung.doses, (rung.lab[0] - 1.5, *rung.lab[1:]), (0.5, 0.3, 0.4), 3)  # type: ignore[arg-type]
        for n, rung in enumerate(first.ladder)
    )
    ladder = Samples(("Rust", "Soot"), read)
    again = blend.answer(services, BlendRequest(WANTED, samples=sheet(), ladder=ladder))
    assert first.found is not None
    assert again.found is not None
    assert again.ladder_read == 5
    assert sum(again.found.doses.values()) < sum(first.found.doses.values()) - 0.1


def test_a_ladder_of_other_pigments_is_refused(services: Services) -> None:
    other = Samples(("Mud",), (SampleRow("1", None, {"Mud": 1.0}, (50.0, 5.0, 9.0), (1.0, 1.0, 1.0), 1),))
    with pytest.raises(InputError, match="“Mud”"):
        blend.answer(services, BlendRequest(WANTED, samples=sheet(), ladder=other))


def test_single_photos_are_said(services: Services) -> None:
    told = blend.answer(services, BlendRequest(WANTED, samples=sheet(photos=1))).cautions
    assert any("one photo: take three of each" in caution.text for caution in told)
    told = blend.answer(services, BlendRequest(WANTED, samples=sheet())).cautions
    assert not any("one photo" in caution.text for caution in told)


def test_without_samples_it_says_what_to_do(services: Services) -> None:
    with pytest.raises(InputError, match="No samples"):
        blend.answer(services, BlendRequest(WANTED))


# --- samples of the log -------------------------------------------------------------------------------


def logged(services: Services, age_days: int = 40) -> None:
    """A log with the samples poured and read, and one sample of a load whose doses nobody logged."""
    poured = NOW - timedelta(days=age_days)

    def fill(log: Log) -> None:
        with log.writing() as writer:
            job = NewJob("test yard", NewCustomer("Ottoline Gravelpit"), NewSite("7 Kettle Row"),
                         areas=(NewArea("field"),))  # fmt: skip
            handle = writer.add_job(job).handle
            writer.add_entries(handle, [*_entries(poured)])

    services.use(services.make_log(None, fill))


def _entries(poured: datetime) -> Iterator[NewEntry]:
    for number, (doses, lab) in enumerate(zip(DOSES, exact(DOSES), strict=True), start=1):
        held = tuple((p, float(d)) for p, d in zip((RUST, SOOT), doses, strict=True) if d)
        sample = NewSample(number, cement="Type IL, Millbrook", doses=held)
        yield NewEntry("sample", poured, sample=sample)
        L, a, b = (float(x) for x in lab)
        for off in (-0.5, 0.5):
            yield NewEntry("reading", NOW, reading=Reading(L + off, a, b, 0.6, 0.4, 0.4, sample=number))
        yield NewEntry("reading", NOW, reading=Reading(L - 9, a, b, sample=number, damp=True))
        yield NewEntry("reading", poured + timedelta(days=1), reading=Reading(L - 8, a, b, sample=number))
    yield NewEntry("sample", poured, sample=NewSample(90))
    yield NewEntry("reading", NOW, reading=Reading(20.0, 5.0, 5.0, sample=90))


def test_the_logs_samples_are_their_last_dry_bare_readings(services: Services) -> None:
    logged(services)
    found = of_log(services)
    assert found.pigments == ("Rust", "Soot")
    assert [row.name for row in found.rows] == [str(n) for n in range(1, 11)]  # 90 has no doses: left out
    assert found.rows[7].lab == pytest.approx(WANTED)
    assert found.rows[7].sd == pytest.approx((0.6 / 2**0.5, 0.4 / 2**0.5, 0.4 / 2**0.5))
    assert found.rows[7].photos == 2
    assert found.maxima == {"Soot": 5.0}
    assert found.young == ()
    answer = blend.answer(services, BlendRequest(WANTED))
    assert answer.found is not None
    assert answer.found.doses == pytest.approx({"Rust": 1.0, "Soot": 1.0}, abs=0.1)
    assert answer.cement == "Type IL, Millbrook"


def test_the_makers_maximum_binds_the_blend(services: Services) -> None:
    logged(services)
    dark = tuple(exact([[0.0, 8.0]])[0])
    found = blend.answer(services, BlendRequest(dark)).found
    assert found is not None
    assert found.doses["Soot"] <= 5
    assert sum(found.doses.values()) <= found.limit_percent


def test_samples_still_lightening_are_named(services: Services) -> None:
    logged(services, age_days=7)
    told = [caution.text for caution in blend.answer(services, BlendRequest(WANTED)).cautions]
    assert any("Still lightening when last read: samples 1, 2" in text for text in told)
