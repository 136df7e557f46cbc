"""A page of found jobs says of how many the log has."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from finishlog import wiring
from finishlog.desk.jobs import find
from finishlog.desk.services import Services


@pytest.fixture
def services(made_demo: Path, tmp_path: Path) -> Iterator[Services]:
    built = wiring.build(str(shutil.copy(made_demo, tmp_path / "demo.finishlog")))
    yield built
    built.close()


def test_the_log_has_as_many_jobs_whatever_was_asked(services: Services) -> None:
    with services.log().writing() as log:
        log.archive(log.lines(limit=1)[0].handle)
    with services.log().reading() as log:
        jobs = log.count()
    every, archived = find.page(services, "", limit=3), find.page(services, " ", limit=3, archived=True)
    assert (every.total, every.all_jobs) == (jobs, jobs)
    assert (archived.total, archived.all_jobs) == (jobs + 1, jobs)
    some = find.page(services, "slate", limit=3)
    assert 0 < some.total < some.all_jobs == jobs
    first = next(line.poured_on for line in every.lines if line.poured_on)
    recent = find.page(services, "", limit=3, since=first)
    assert recent.total < recent.all_jobs == jobs
