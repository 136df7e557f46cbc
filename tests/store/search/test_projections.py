"""What is kept for speed says what the truth says, and check sees when it does not."""

from datetime import UTC, date, datetime, timedelta

import pytest

from finishlog.color.notation.names import nearest_name
from finishlog.color.notation.space import lab_to_hex
from finishlog.records.log import Reading
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewProduct,
    NewRecipe,
    NewSite,
    NewStage,
    NewStageMaterial,
)
from finishlog.store import Log
from finishlog.store.engine.in_sqlite import cautions
from finishlog.store.engine.protocol import of
from finishlog.store.schema.revisions import head
from finishlog.store.search import dialects, projections

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)
TWO_COLORS = NewRecipe(
    "blend",
    (
        NewStage(
            "integral_color",
            {},
            (
                NewStageMaterial(NewProduct("Rust Pot", "pigment")),
                NewStageMaterial(NewProduct("Wet Biscuit", "pigment")),
            ),
        ),
        NewStage("powder_release", {}, (NewStageMaterial(NewProduct("Soot Cat", "powder release")),)),
        NewStage("stamp", {"pattern": "wood plank"}),
    ),
)


def a_job(*areas: NewArea) -> NewJob:
    return NewJob("patio", NewCustomer("Bo"), NewSite("1 Owl Hollow", zone="America/Chicago"), areas=areas)


def test_the_line_says_what_was_placed_and_else_what_was_planned(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job(NewArea("field", recipe=TWO_COLORS))).handle
        planned = writer.line(handle)
        assert (planned.base, planned.release, planned.pattern) == (
            "Rust Pot + Wet Biscuit",
            "Soot Cat",
            "wood plank",
        )
        drum = NewMaterialUse(NewProduct("Dusty Drum", "pigment"), 80.0)
        air = NewMaterialUse(NewProduct("Bubble Up", "admixture"), 1.0)
        writer.add_entry(handle, NewEntry("load", MORNING, materials=(air, drum), load=NewLoad(4.0)))
        writer.add_entry(handle, NewEntry("stamp", MORNING, facts={"pattern": "random stone"}))
        writer.add_entry(handle, NewEntry("rinse", MORNING, facts={"release_left_percent": 20}))
        writer.add_entry(
            handle, NewEntry("rinse", MORNING + timedelta(1), facts={"release_left_percent": 12.5})
        )
        line = writer.line(handle)
    assert (line.base, line.release, line.pattern) == ("Dusty Drum", "Soot Cat", "random stone")
    assert line.release_left_percent == 12.5
    assert line.poured_on == date(2025, 5, 14)


def test_the_line_is_the_field_s_and_the_border_is_found_all_the_same(log: Log) -> None:
    with log.writing() as writer:
        border = NewArea("edge", "border", recipe=TWO_COLORS)
        handle = writer.add_job(a_job(border, NewArea("field"))).handle
        for area, name in (("edge", "Storm Pail"), ("field", "Flour Sack")):
            use = NewMaterialUse(NewProduct(name, "pigment"), 10.0)
            load = NewLoad(1.0, areas=((area, 1.0),))
            writer.add_entry(handle, NewEntry("load", MORNING, materials=(use,), load=load))
        assert writer.line(handle).base == "Flour Sack"
        assert [line.handle for line in writer.lines(base="storm")] == [handle]


@pytest.mark.parametrize("other", [{"damp": True}, {"sealed": True}, {"spot": "field"}])
def test_the_color_is_the_latest_dry_bare_reading(log: Log, other: dict[str, object]) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job(NewArea("field"))).handle
        assert writer.line(handle).base_hex is None
        for days, reading in (
            (60, Reading(62, 5, 15)),
            (30, Reading(55, 5, 15)),
            (90, Reading(30, 1, 1, **other)),  # type: ignore[arg-type]
            (45, Reading(40, 10, 12, spot="release color")),
        ):
            writer.add_entry(handle, NewEntry("reading", MORNING + timedelta(days), reading=reading))
        line = writer.line(handle)
    assert line.base_hex == lab_to_hex((62, 5, 15))
    assert line.color_name == nearest_name((62, 5, 15))
    assert line.release_hex == lab_to_hex((40, 10, 12))
    assert line.release_color_name == nearest_name((40, 10, 12))


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE job_line SET customer = 'Somebody'",
        "UPDATE job_line SET sort_on = '1999-01-01'",
        "DELETE FROM job_line",
        "INSERT INTO job_facet VALUES (1, 'base', 'x', 'x')",
        "DELETE FROM job_facet",
        "DELETE FROM job_text",
        "UPDATE job_text SET who = 'somebody'",
        "INSERT INTO job_text ({job}, who) VALUES (99, 'nobody')",
    ],
)
def test_check_sees_a_projection_that_is_not_true(log: Log, damage: str) -> None:
    with log.writing() as writer:
        writer.add_job(a_job(NewArea("field", recipe=TWO_COLORS)))
    assert log.check().ok
    with log._connection(write=True) as connection:
        connection.exec_driver_sql(damage.format(job=dialects.texts(connection).job_id))
    report = log.check()
    assert not report.ok
    assert "out of date for 1 job" in report.problems[0]


def test_check_sees_a_row_that_points_nowhere(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(a_job(NewArea("field")))
    with log._connection(write=False) as plain:
        plain.exec_driver_sql("COMMIT")
        plain.exec_driver_sql("PRAGMA foreign_keys=OFF")
        plain.exec_driver_sql("UPDATE job SET customer_id = 77")
        plain.exec_driver_sql("PRAGMA foreign_keys=ON")
        plain.exec_driver_sql("BEGIN")
    report = log.check()
    assert report.problems == ("A row of job names a row of customer that is not there.",)


def test_check_counts_and_warns_of_the_fault_of_old_sqlite(log: Log) -> None:
    """The WAL-reset fault: SQLite 3.7.0 to 3.51.2, fixed in 3.51.3 (sqlite.org, release history)."""
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        writer.add_entry(handle, NewEntry("note", MORNING))
    report = log.check()
    assert (report.ok, report.jobs, report.entries, report.schema) == (True, 1, 1, head())
    assert "3.51.3" in cautions("3.51.2")[0]
    assert "3.7.0" in cautions("3.7.0")[0]
    assert cautions("3.51.3") == ()
    assert cautions("3.6.23") == ()


def test_a_failed_unit_of_work_leaves_no_trace(log: Log) -> None:
    def fail() -> None:
        with log.writing() as writer:
            writer.add_job(a_job(NewArea("field", recipe=TWO_COLORS)))
            assert writer.count() == 1
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    with log.reading() as reader:
        assert reader.count() == 0
        assert reader.customers() == ()
    assert log.check().ok


def test_texts_of_one_site_follow_what_is_learned_of_it(log: Log) -> None:
    with log.writing() as writer:
        one = writer.add_job(NewJob("a", NewCustomer("Bo"), NewSite("1 Owl Hollow")))
    with log.writing() as writer:
        writer.add_job(NewJob("b", NewCustomer("Bo"), NewSite("1 Owl Hollow", "Elsewhere")))
    with log.reading() as reader:
        assert reader.line(one.handle).town == "Elsewhere"
    assert log.check().ok


def test_only_the_projections_that_differ_are_rewritten(log: Log) -> None:
    """What is as it should be costs no write; one wrong value costs its own table's rows of that job."""
    with log.writing() as writer:
        handle = writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("s"))).handle
        writer.add_entry(handle, NewEntry("note", datetime(2026, 6, 16, 12, tzinfo=UTC), note="swept twice"))
    with log._connection(write=True) as connection:

        def written() -> int:
            before = of(connection).written(connection)
            projections.refresh(connection, [1])
            return of(connection).written(connection) - before

        assert projections.differing(connection) == []
        assert written() == 0
        connection.exec_driver_sql("UPDATE job_line SET name = 'porch'")
        assert projections.differing(connection) == [1]
        assert written() == 2  # the row goes, the row comes
        assert projections.differing(connection) == []
        job = dialects.texts(connection).job_id
        connection.exec_driver_sql(f"INSERT INTO job_text ({job}, who) VALUES (77, 'nobody')")
        projections.refresh(connection, [77])
        assert projections.differing(connection) == []
