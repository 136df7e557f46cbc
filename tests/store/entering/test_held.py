"""What a unit of work holds of a job is at every step what the log has of it."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from finishlog.errors import InputError
from finishlog.records.log import Job
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewProduct,
    NewRecipe,
    NewSample,
    NewSite,
    NewStage,
)
from finishlog.store import Log, Writer
from finishlog.store.entering import held
from finishlog.store.reading.jobs import load_jobs
from tests.store.conftest import Ticking

AT = datetime(2026, 6, 4, 12, tzinfo=UTC)
TOAST = NewProduct("Old Toast", "pigment", "Toadstone")
RECIPE = NewRecipe("plain", (NewStage("stamp"),))


@pytest.fixture
def log(empty_log: Path, ticking: Ticking, tmp_path: Path) -> Log:
    return ticking.open(Path(shutil.copy(empty_log, tmp_path / "l.finishlog")))


def fresh(writer: Writer, handle: str) -> Job:
    number = writer._job_id(handle)
    return load_jobs(writer._connection, [number])[number]


def load(hours: int, **more: object) -> NewEntry:
    return NewEntry("load", AT + timedelta(hours=hours), load=NewLoad(2.0), **more)  # type: ignore[arg-type]


def test_it_is_what_the_log_has_after_every_step(log: Log) -> None:
    steps = (
        NewEntry("note", AT, note="early"),
        load(0, area="field"),  # freezes one recipe and makes it a poured job
        load(-3, area="field", materials=(NewMaterialUse(TOAST, 12.0),)),  # before the other
        load(1, area="border"),  # freezes the other recipe
        NewEntry("sample", AT + timedelta(hours=2), sample=NewSample(load=3)),
        load(-2, area="field", replaces=3, materials=(NewMaterialUse(TOAST, 13.0),)),  # the sample's load
        NewEntry("note", AT, note="late", replaces=1),
        load(2, materials=(NewMaterialUse(NewProduct("Old Toast", "pigment", "Toadstone", pack_lb=25)),)),
        NewEntry("note", AT, replaces=7, withdrawn=True),
    )
    with log.writing() as writer:
        areas = (NewArea("field", recipe=RECIPE), NewArea("border", recipe=RECIPE))
        new = NewJob("patio", NewCustomer("Bo"), NewSite("1 Elm"), areas=areas, state="planned")
        handle = writer.add_job(new).handle
        for step in steps:
            writer.job(handle)
            writer.add_entry(handle, step)
            assert writer.job(handle) == fresh(writer, handle)
        writer.add_advice(handle, NewAdvice("ready", "m1", "{}", "{}"))
        writer.update_note(handle, "gate code")
        assert writer.job(handle) == fresh(writer, handle)
        with pytest.raises(InputError):
            writer.add_entry(handle, NewEntry("note", AT, area="lawn"))
        assert writer.job(handle) == fresh(writer, handle)


def test_entries_of_one_job_do_not_read_it_again_and_again(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    reads: list[int] = []

    def counted(connection: object, ids: list[int]) -> dict[int, Job]:
        reads.extend(ids)
        return load_jobs(connection, ids)  # type: ignore[arg-type]

    monkeypatch.setattr(held, "load_jobs", counted)
    with log.writing() as writer:
        handle = writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("1 Elm"))).handle
        for step in range(20):
            assert len(writer.job(handle).history) == step
            writer.add_entry(handle, load(step, materials=(NewMaterialUse(TOAST, 12.0),)))
            writer.add_advice(handle, NewAdvice("ready", "m1", "{}", "{}"))
    assert len(reads) == 1
