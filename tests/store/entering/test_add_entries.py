"""Many entries at once are what one by one would be; what is refused leaves nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from finishlog.errors import InputError
from finishlog.records.log import Entry, Job
from finishlog.records.writing import (
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
)
from finishlog.store import Log

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)
PIGMENT = NewMaterialUse(NewProduct("Wet Biscuit", "pigment"), 47.25, lot="K-131")
NEWS = (
    NewEntry(
        "load", MORNING, materials=(PIGMENT,), load=NewLoad(6.75, areas=(("field", 5), ("border", 1.75)))
    ),
    NewEntry("sample", MORNING, sample=NewSample(12, load=1)),
    NewEntry("pour", MORNING, area="field", note="x"),
    NewEntry("rinse", MORNING, area="field", facts={"pressure_psi": 2000}),
    NewEntry("rinse", MORNING, area="field", facts={"pressure_psi": 1500}, replaces=4),
)


def a_job(name: str) -> NewJob:
    areas = tuple(NewArea(area, recipe=NewRecipe(area)) for area in ("field", "border", "stairs"))
    return NewJob(name, NewCustomer("Ines Puddlecombe"), NewSite("s"), state="planned", areas=areas)


def bare(job: Job) -> list[Entry]:
    names = {area.uid: area.name for area in job.areas}
    return [
        replace(
            entry,
            uid="",
            logged=MORNING,
            area=names.get(entry.area or ""),
            sample=None,
            load=entry.load and replace(entry.load, areas=tuple((names[u], y) for u, y in entry.load.areas)),
        )
        for entry in job.history
    ]


def test_all_at_once_is_what_one_by_one_would_be(log: Log) -> None:
    with log.writing() as writer:
        one, all_ = (writer.add_job(a_job(name)).handle for name in ("one", "all"))
        for new in NEWS:
            writer.add_entry(one, new if new.sample is None else replace(new, sample=NewSample(11, load=1)))
        writer.add_entries(all_, iter(NEWS))
    with log.reading() as reader:
        first, second = reader.job(one), reader.job(all_)
    assert bare(first) == bare(second)
    assert (first.state, second.state) == ("poured", "poured")
    frozen = [
        [area.name for area in job.areas if area.recipe and area.recipe.frozen] for job in (first, second)
    ]
    assert frozen == [["field", "border"], ["field", "border"]]
    assert log.check().problems == ()


def test_what_is_refused_leaves_nothing_and_was_the_last_one_taken(log: Log) -> None:
    taken: list[int] = []

    def some() -> Iterator[NewEntry]:
        for number, area in enumerate(("field", "roof", "border")):
            taken.append(number)
            yield NewEntry("rinse", MORNING, area=area)

    with log.writing() as writer:
        handle = writer.add_job(a_job("one")).handle
        with pytest.raises(InputError, match="roof"):
            writer.add_entries(handle, some())
        assert writer.job(handle).history == ()
    assert taken == [0, 1]
    assert log.check().problems == ()


def test_nothing_at_once_is_nothing(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job("one")).handle
        writer.add_entries(handle, ())
        assert (writer.job(handle).history, writer.job(handle).state) == ((), "planned")
