"""What follows from an entry is made before one's turn to write, and is what would be made in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from finishlog.errors import InputError
from finishlog.records.log import Approval, Claim, Coat, Reading
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewProduct,
    NewSample,
    NewSite,
)
from finishlog.store import Log
from finishlog.store.reading.jobs import load_jobs
from finishlog.store.search import due, projections
from tests.store.conftest import Ticking

AT = datetime(2026, 6, 4, 12, tzinfo=UTC)
POURED = NewEntry("pour", AT, area="field")
OLD = (POURED, NewEntry("note", AT, note="early", person="Bo Ortiz"), NewEntry("note", AT, note="twice"),
       NewEntry("sample", AT, sample=NewSample(size="12 in")))  # fmt: skip
ALONE = {
    "note": NewEntry("note", AT + timedelta(days=1), note=" gate  code ", person="Bo Ortiz"),
    "facts": NewEntry("rinse", AT + timedelta(days=2), area="Field", facts={"pressure_psi": 2000}),
    "nothing left, below zero": NewEntry(
        "rinse", AT + timedelta(days=2), area="field", facts={"release_left_percent": -0.0}
    ),
    "coat": NewEntry("seal", AT + timedelta(days=40), area="field", coat=Coat(1, area_ft2=400)),
    "reading": NewEntry("reading", AT + timedelta(days=30), reading=Reading(55, 4, 12, spot="base")),
    "approval": NewEntry("approval", AT, approval=Approval(1, "Bo")),
    "claim": NewEntry("claim", AT + timedelta(days=60), claim=Claim("white haze")),
    "put off": NewEntry("put_off", AT + timedelta(days=1), facts={"what": "photo"}),
    "correction": NewEntry("note", AT, note="late", replaces=2),
    "taken back": NewEntry("note", AT, replaces=3, withdrawn=True),
    "end corrected": replace(POURED, happened=AT + timedelta(hours=3), replaces=1),
}
WITH_OTHERS = {
    "spelling": NewEntry("note", AT, note="gate", person="bo ortiz"),
    "load": NewEntry("load", AT, load=NewLoad(2.0)),
    "material": NewEntry("sweep", AT, materials=(NewMaterialUse(NewProduct("Ash", "powder release"), 3.0),)),
}


@pytest.fixture
def patio(log: Log) -> Log:
    with log.writing() as writer:
        areas = (NewArea("field", area_ft2=400), NewArea("border"))
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("1 Elm"), areas=areas, handle="patio"))
        for entry in OLD:
            writer.add_entry("patio", entry)
    return log


def ahead_then_written(log: Log, new: NewEntry, between: Callable[[], None] = lambda: None) -> bool:
    """Whether the job was still as it was read ahead; between the reading and the writing somebody else is busy."""
    with log.reading() as reader:
        known = reader.know("patio")
        expected = reader.expect(known, new, reader.shop())
    between()
    with log.writing() as writer:
        same = writer.take([known], expected)
        writer.add_entry("patio", new)
    report = log.check()
    assert report.ok, report.problems
    return same


@pytest.mark.parametrize("new", ALONE.values(), ids=ALONE)
def test_what_is_due_is_not_worked_out_while_others_wait(
    patio: Log, new: NewEntry, monkeypatch: pytest.MonkeyPatch
) -> None:
    with patio.reading() as reader:
        known = reader.know("patio")
        expected = reader.expect(known, new, reader.shop())
    with monkeypatch.context() as held, patio.writing() as writer:
        held.setattr(due, "made", None)
        held.setattr(projections, "view", None)
        assert writer.take([known], expected)
        writer.add_entry("patio", new)
    assert patio.check().ok


@pytest.mark.parametrize("new", (ALONE | WITH_OTHERS).values(), ids=ALONE | WITH_OTHERS)
def test_what_was_kept_is_what_follows(patio: Log, new: NewEntry) -> None:
    assert ahead_then_written(patio, new)


def test_alone_nothing_stays_after_a_part_that_failed(patio: Log) -> None:
    """It has no savepoint: whoever goes on after the failure keeps nothing at all."""

    def go_on() -> None:
        with patio.writing(alone=True) as writer:
            writer.add_entry("patio", ALONE["note"])
            with pytest.raises(InputError):
                writer.add_entry("patio", NewEntry("pour", AT, area="nowhere"))

    with pytest.raises(RuntimeError, match="nothing of it"):
        go_on()
    with patio.reading() as reader:
        assert len(reader.job("patio").history) == len(OLD)
    assert patio.check().ok


def test_an_entry_of_another_program_meanwhile_counts(patio: Log, ticking: Ticking) -> None:
    def rinse() -> None:
        other = ticking.open(patio.where)
        with other.writing() as writer:
            writer.add_entry("patio", NewEntry("rinse", AT + timedelta(days=2), area="field"))

    assert not ahead_then_written(patio, ALONE["put off"], rinse)
    with patio.reading() as reader:
        assert [entry.kind for entry in reader.job("patio").history[-2:]] == ["rinse", "put_off"]


def test_a_setting_of_another_program_meanwhile_counts(patio: Log, ticking: Ticking) -> None:
    def change() -> None:
        with ticking.open(patio.where).writing() as writer:
            writer.set_setting("reseal_to_years", "4")

    assert ahead_then_written(patio, ALONE["coat"], change)  # the job itself is as it was
    with patio.reading() as reader:
        opens = [line.opens.year for line in reader.due_of("patio") if line.key == "reseal"]
    assert opens == [2030]


@pytest.mark.parametrize("change", ["customer", "product"])
def test_a_fact_of_the_shop_told_meanwhile_is_seen(patio: Log, ticking: Ticking, change: str) -> None:
    """The details of entries last and are not asked again; what they name may change."""
    with patio.writing() as writer:
        writer.add_entry("patio", WITH_OTHERS["material"])

    def tell() -> None:
        with ticking.open(patio.where).writing() as writer:
            if change == "customer":
                writer.update_customer("Bo", phone="555-0101")
            else:
                ash = NewProduct("Ash", "powder release", pack_lb=25)
                writer.add_job(NewJob("walk", NewCustomer("Al"), NewSite("2 Elm"), handle="walk"))
                writer.add_entry("walk", NewEntry("sweep", AT, materials=(NewMaterialUse(ash, 1.0),)))

    assert not ahead_then_written(patio, ALONE["note"], tell)


def test_nothing_that_is_kept_tells_an_entry_s_uid_or_when_it_was_logged(demo: str, ticking: Ticking) -> None:
    log = ticking.open(Path(demo))
    with log.reading() as reader:
        numbers = projections.all_jobs(reader._connection)
        jobs = load_jobs(reader._connection, numbers)
        other = {
            number: replace(
                job,
                history=tuple(replace(e, uid="", logged=AT) for e in job.history),
                entries=tuple(replace(e, uid="", logged=AT) for e in job.entries),
            )
            for number, job in jobs.items()
        }
        shop = reader.shop()
        assert projections.made(reader._connection, jobs, shop) == projections.made(
            reader._connection, other, shop
        )
