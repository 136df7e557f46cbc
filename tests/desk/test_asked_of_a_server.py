"""How often a server is asked for a job's page and for an entry: that and no row is what they cost there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import psycopg
import pytest

from finishlog.desk.jobs import page
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSite,
    NewStage,
    NewStageMaterial,
)
from finishlog.store import Log, Writer
from finishlog.store.engine.postgres import server
from tests import pg
from tests.desk.conftest import NOW

WARM = 7
"""The driver has a statement prepared at the second time, and the server plans it five times before it is content."""
_ASKED = "SELECT sum(generic_plans + custom_plans)::int, sum(custom_plans)::int FROM pg_prepared_statements"
JOBS = 9
_OWN = 2
"""What counting itself adds: the end of a read and the begin of the next."""
RELEASE = NewProduct("charcoal", "release", "Bogglethwaite")
SEALER = NewProduct("mild gloss", "sealer", "Bogglethwaite")


@pytest.fixture(scope="module")
def services() -> Iterator[Services]:
    address = pg.database()
    log = Log.open(address, clock=lambda: NOW, new_uid=lambda: uuid4().hex)
    made = Services(
        open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: NOW,
        find_zone=lambda: ZoneInfo("America/Chicago"),
    )  # fmt: skip
    with log.writing() as writing:
        for number in range(JOBS):
            fill(writing, f"slab {number}")
    with psycopg.connect(address, autocommit=True) as raw:
        raw.execute("ANALYZE")
    yield made
    made.close()
    pg.drop(address)


def fill(log: Writer, name: str) -> None:
    """A job with something of nearly all that a page shows."""
    stages = tuple(
        NewStage(kind, materials=(NewStageMaterial(product, rate=3.0, unit="lb/100 ft2"),))
        for kind, product in (("release", RELEASE), ("seal", SEALER))
        for _ in range(3)
    )
    areas = tuple(
        NewArea(area, area_ft2=300.0, depth_in=4.0, recipe=NewRecipe(f"buff {area}", stages))
        for area in ("field", "border")
    )
    site = NewSite(f"3 Tumbledown Lane, {name}")
    job = log.begin_job(NewJob(name, NewCustomer("Bogglethwaite"), site, areas=areas))
    at = NOW - timedelta(days=90)
    load = NewLoad(4.0, 0.0, 0.0, mix=NewMix("Tumbledown", "M1"))
    for area in ("field", "border"):
        log.add_entry(job, NewEntry("load", at, area=area, load=load))
    log.add_entry(
        job, NewEntry("powder_release", at, area="field", materials=(NewMaterialUse(RELEASE, 9.0),))
    )
    log.add_entries(job, (NewEntry("note", at, note=f"no. {number}") for number in range(12)))


def asked(services: Services, call: Callable[[], object]) -> tuple[int, int]:
    """How many statements it takes once it was done a few times, and how many of those the server plans anew."""
    for _ in range(WARM):
        call()
    before = _so_far(services)
    call()
    after = _so_far(services)
    return after[0] - before[0] - _OWN, after[1] - before[1]


def _so_far(services: Services) -> tuple[int, int]:
    with services.log().reading() as log:
        raw = server.driver(log._connection)
        every, anew = raw.execute(_ASKED, prepare=False).fetchone()
        return every, anew


def test_a_page_is_few_statements_planned_once_for_all(services: Services) -> None:
    assert asked(services, lambda: page.lay_open(services, "bogglethwaite-slab-1")) == (27, 0)


def test_an_entry_is_few_statements_planned_once_for_all(services: Services) -> None:
    def append() -> None:
        record.record(services, "bogglethwaite-slab-1", "note", {"note": uuid4().hex})

    assert asked(services, append) == (57, 0)
