"""Entries are only ever added to; the current view is what nothing replaces."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy.exc import IntegrityError

from finishlog.errors import InputError
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewLoad, NewRecipe, NewSite
from finishlog.store import Log
from finishlog.store.schema.tables_entry import APPEND_ONLY

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)


def a_job(name: str = "patio", state: str = "poured") -> NewJob:
    areas = tuple(NewArea(area, recipe=NewRecipe(area)) for area in ("field", "border"))
    return NewJob(name, NewCustomer("Ines Puddlecombe"), NewSite("s"), state=state, areas=areas)  # type: ignore[arg-type]


def test_a_correction_replaces_and_keeps_the_original(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        first = writer.add_entry(handle, NewEntry("rinse", MORNING, facts={"pressure_psi": 2000}))
        second = writer.add_entry(
            handle, NewEntry("rinse", MORNING, facts={"pressure_psi": 1500}, replaces=1)
        )
        job = writer.job(handle)
    assert second.replaces == 1
    assert job.entries == (second,)
    assert job.history == (first, second)


def test_an_entry_is_replaced_once_only(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        writer.add_entry(handle, NewEntry("rinse", MORNING))
        writer.add_entry(handle, NewEntry("rinse", MORNING, replaces=1))
        with pytest.raises(InputError, match="Entry 1 was already replaced by entry 2"):
            writer.add_entry(handle, NewEntry("rinse", MORNING, replaces=1))
        with pytest.raises(InputError, match="no entry 9"):
            writer.add_entry(handle, NewEntry("rinse", MORNING, replaces=9))


def test_an_entry_of_another_job_cannot_be_replaced(log: Log) -> None:
    with log.writing() as writer:
        one, two = (writer.add_job(a_job(name)).handle for name in ("one", "two"))
        writer.add_entry(one, NewEntry("rinse", MORNING))
        with pytest.raises(InputError, match="no entry 1"):
            writer.add_entry(two, NewEntry("rinse", MORNING, replaces=1))


def test_undo_takes_back_and_both_stay_readable(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        writer.add_entry(handle, NewEntry("sweep", MORNING))
        writer.add_entry(handle, NewEntry("rinse", MORNING))
        gone = writer.undo(handle)
        assert (gone.kind, gone.replaces, gone.withdrawn) == ("rinse", 2, True)
        assert [e.number for e in writer.job(handle).entries] == [1]
        writer.undo(handle, 1, person="Ada")
        job = writer.job(handle)
        assert job.entries == ()
        assert [e.number for e in job.history] == [1, 2, 3, 4]
        with pytest.raises(InputError, match="No entry to undo"):
            writer.undo(handle)
        with pytest.raises(InputError, match="only undid another"):
            writer.undo(handle, 3)


def test_an_unknown_area_is_named(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        with pytest.raises(InputError, match='no area "stairs"'):
            writer.add_entry(handle, NewEntry("rinse", MORNING, area="stairs"))
        with pytest.raises(InputError, match="no area"):
            writer.add_entry(handle, NewEntry("load", MORNING, load=NewLoad(areas=(("wall", 1.0),))))
        with pytest.raises(InputError, match="twice"):
            writer.add_entry(
                handle, NewEntry("load", MORNING, load=NewLoad(areas=(("field", 1.0), ("Field", 1.0))))
            )


def test_the_first_pour_freezes_the_recipes_of_its_areas(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job(state="planned")).handle
        writer.add_entry(handle, NewEntry("note", MORNING))
        assert writer.job(handle).state == "planned"
        writer.add_entry(handle, NewEntry("load", MORNING, load=NewLoad(areas=(("field", 1.0),))))
        job = writer.job(handle)
        field, border = (area.recipe for area in job.areas)
        assert field is not None
        assert border is not None
        assert job.state == "poured"
        assert writer.line(handle).state == "poured"
        assert border.frozen is None
        writer.add_entry(handle, NewEntry("pour", MORNING))
        again, border = (area.recipe for area in writer.job(handle).areas)
        assert again is not None
        assert border is not None
        assert again.frozen == field.frozen
        assert border.frozen is not None
        assert field.frozen is not None
        assert border.frozen > field.frozen


@pytest.mark.parametrize("table", APPEND_ONLY)
@pytest.mark.parametrize("change", ["UPDATE {} SET {} = {}", "DELETE FROM {}"])
def test_the_engine_itself_refuses_to_change_what_happened(
    fresh: Callable[[], Log], table: str, change: str, tmp_path: Path
) -> None:
    from finishlog.records.files import Photo
    from finishlog.records.log import Approval, Claim, Coat, Reading
    from finishlog.records.writing import (
        NewAdvice,
        NewFile,
        NewMaterialUse,
        NewProduct,
        NewSample,
        NewStockMove,
    )

    ticket = tmp_path / "ticket"
    ticket.write_bytes(b"5 yd")
    log = fresh()
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        use = NewMaterialUse(NewProduct("Wet Biscuit", "pigment"), 1.0)
        load = NewLoad(1.0, areas=(("field", 1.0),))
        writer.add_entry(
            handle,
            NewEntry(
                "load",
                MORNING,
                materials=(use,),
                load=load,
                coat=Coat(1),
                reading=Reading(50, 0, 0),
                sample=NewSample(doses=((use.product, 3.0),)),
                approval=Approval(1, "Ines"),
                claim=Claim("haze"),
                files=(NewFile(ticket, photo=Photo("JPEG", 4, 3)),),
            ),
        )
        writer.add_stock_move(NewStockMove(use.product, "bought", MORNING, 5.0))
        writer.add_advice(handle, NewAdvice("order", "m", "{}", "{}"))
    named = {"entry": "uid", "advice": "uid", "stock_move": "uid", "file": "sha256", "photo": "sha256"}
    column = named.get(table, "entry_id")
    with log._connection(write=True) as connection:
        assert connection.exec_driver_sql(f"SELECT count(*) FROM {table}").scalar_one() == 1
        with pytest.raises(IntegrityError, match=f"{table} is append-only"):
            connection.exec_driver_sql(change.format(table, column, column))


def test_the_engine_itself_refuses_a_replacement_across_jobs(log: Log) -> None:
    with log.writing() as writer:
        for name in ("one", "two"):
            writer.add_entry(writer.add_job(a_job(name)).handle, NewEntry("rinse", MORNING))
    insert = (
        "INSERT INTO entry (id, uid, job_id, number, kind, happened, logged, exactness, replaces_id) "
        "SELECT 99, 'x', 2, 9, kind, happened, logged, exactness, 1 FROM entry WHERE id = 1"
    )
    with pytest.raises(IntegrityError, match=r"(?i)foreign key"), log._connection(write=True) as connection:
        connection.exec_driver_sql(insert)


STEPS = st.lists(
    st.tuples(st.sampled_from(["add", "replace", "undo"]), st.integers(0, 30), st.integers(-40, 40)),
    max_size=25,
)


@pytest.mark.parametrize("examples", [15, pytest.param(150, marks=pytest.mark.long)])
def test_entries_are_never_lost(log: Log, examples: int) -> None:
    @settings(max_examples=examples, deadline=None)
    @given(steps=STEPS)
    def holds(steps: list[tuple[str, int, int]]) -> None:
        check_kept(log, steps)

    holds()


def check_kept(log: Log, steps: list[tuple[str, int, int]]) -> None:
    """History keeps every entry ever logged; the current view equals a model kept beside."""
    logged: list[tuple[int, str]] = []  # number, note
    standing: dict[int, tuple[int, str]] = {}  # number: hours, note
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        for count, (what, pick, hours) in enumerate(steps):
            target = sorted(standing)[pick % len(standing)] if standing else None
            note = f"step {count}"
            if what == "undo" and target is not None:
                entry = writer.undo(handle, target)
                del standing[target]
                logged.append((entry.number, ""))
                continue
            replaces = target if what == "replace" else None
            happened = MORNING + timedelta(hours=hours)
            entry = writer.add_entry(handle, NewEntry("note", happened, note=note, replaces=replaces))
            if replaces is not None:
                del standing[replaces]
            standing[entry.number] = (hours, note)
            logged.append((entry.number, note))
    with log.reading() as reader:
        job = reader.job(handle)
    assert [(e.number, e.note or "") for e in job.history] == logged
    assert [e.number for e in job.history] == list(range(1, len(logged) + 1))
    expected = sorted(standing.items(), key=lambda item: (item[1][0], item[0]))
    assert [(e.number, e.note) for e in job.entries] == [(number, note) for number, (_, note) in expected]
