"""What each job tells by itself: read again only where something was logged, and never older than the log."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from finishlog.desk import job_by_job
from finishlog.desk.doubts import own_usual
from finishlog.desk.history import Learned
from finishlog.desk.services import Services
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewLoad, NewSite
from tests.desk.conftest import NOW, SheetShop


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    made = SheetShop(tmp_path).services
    made.make_log(None).close()
    for number in range(4):
        pour(made, f"slab {number}", 4.0 + number / 10)
    yield made
    made.close()


def pour(services: Services, name: str, yards: float) -> str:
    area = NewArea("field", area_ft2=300.0, depth_in=4.0)
    with services.log().writing() as log:
        job = log.add_job(
            NewJob(name, NewCustomer("Bogglethwaite"), NewSite("3 Tumbledown Lane"), areas=(area,))
        )
        at = NOW - timedelta(days=9)
        log.add_entry(job.handle, NewEntry("load", at, area="field", load=NewLoad(yards, 0.0, 0.0)))
    return job.handle


def anew(services: Services) -> Learned:
    with closing(sqlite3.connect(services.log().where)) as raw, raw:
        raw.execute("DELETE FROM learned")
    return services.learned()


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Which jobs are read."""
    found: list[list[str]] = []
    once = job_by_job.told

    def told(log: Any, name: str, form: str, handles: Sequence[str], make: Any) -> Any:
        def noted(jobs: Sequence[str]) -> Any:
            found.append(sorted(jobs))
            return make(jobs)

        return once(log, name, form, handles, noted)

    monkeypatch.setattr(job_by_job, "told", told)
    return found


def test_only_what_was_logged_on_is_read_again(services: Services, read: list[list[str]]) -> None:
    first = services.learned()
    assert len(first.errors) == 4
    assert services.learned() == first
    assert [len(jobs) for jobs in read] == [4]
    new = pour(services, "new", 4.4)
    assert len(services.learned().errors) == 5
    assert read[1:] == [[new]]
    with services.log().writing() as log:
        load = log.job(new).of_kind("load")[0]
        again = NewLoad(3.9, 0.0, 0.0)
        log.add_entry(new, NewEntry("load", load.happened, area="field", load=again, replaces=load.number))
    found = services.learned()
    assert read[2:] == [[new]]
    assert found == anew(services)


def test_an_area_added_without_an_entry_is_seen(services: Services, read: list[list[str]]) -> None:
    services.learned()
    with services.log().writing() as log:
        log.add_area("bogglethwaite-slab-1", NewArea("border", area_ft2=40.0, depth_in=4.0))
    found = services.learned()
    assert read[1:] == [["bogglethwaite-slab-1"]]
    assert found == anew(services)


def test_another_waste_is_reckoned_anew(services: Services, read: list[list[str]]) -> None:
    first = services.learned()
    with services.log().writing() as log:
        log.set_setting("waste_percent", "9")
    found = services.learned()
    assert found != first
    assert len(read[-1]) == 4
    assert found == anew(services)


def test_what_is_damaged_is_not_taken(services: Services) -> None:
    first = services.learned()
    with closing(sqlite3.connect(services.log().where)) as raw, raw:
        assert raw.execute("UPDATE learned SET body = replace(body, '2025', '1999')").rowcount == 1
    assert services.learned() == first


def test_usual_rates_are_those_of_the_jobs_read_whole(services: Services) -> None:
    """Kept after each of some releases, one of them corrected, they are as read from the log."""
    with services.log().reading() as log:
        handles = [line.handle for line in log.lines()]
    for number, handle in enumerate([*handles, *handles]):
        with services.log().writing() as log:
            at = NOW - timedelta(days=8, hours=number)
            log.add_entry(
                handle, NewEntry("powder_release", at, area="field", facts={"lb_per_100ft2": 3 + number})
            )
        kept = own_usual.kept(services, handle)
        with services.log().reading() as log:
            assert kept == own_usual.of(log, handle)
    assert kept["powder_release"][1] == 6
    with services.log().writing() as log:
        log.undo(handles[0])
    with services.log().reading() as log:
        assert own_usual.kept(services, "nobody") == own_usual.of(log, "nobody")
