"""Whatever was written, and of whatever it was shared with: all that is kept for the lists is what it comes from."""

from __future__ import annotations

import random
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from finishlog.errors import InputError
from finishlog.records.log import Coat, Reading, Shape
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewFile,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSample,
    NewSite,
    NewStage,
    NewStageMaterial,
    NewStockMove,
)
from finishlog.store import Log, Writer
from finishlog.store import check as checking
from finishlog.store.engine.protocol import of
from finishlog.store.sealing.keep import seal
from finishlog.store.search import projections, shelved

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)
SETTINGS = (
    ("reseal_from_years", "2"), ("care_months", "4-10"), ("film_alarm_mil", "4"), ("days_off", "12-25"),
    ("release_left_percent", "30"), ("wipe_every", "2"), ("seal_to_day", "60"), ("solids_percent", "20"),
)  # fmt: skip


class Shop:
    """All that a log can be told, drawn by a seed; customers, sites, products, lots and recipes are shared."""

    def __init__(self, seed: int, folder: Path) -> None:
        self.chance = random.Random(seed)
        self.folder = folder
        self.jobs: list[str] = []
        self.told = 0
        self.does: tuple[Callable[[Writer, str], object], ...] = (
            self.new, self.entry, self.entry, self.entry, self.entries, self.corrected, self.undone, self.state,
            self.note, self.area, self.replan, self.order, self.copied, self.buried, self.owner, self.advice,
            self.merged, self.customer, self.stock, self.stock_undone, self.stock_corrected, self.setting, self.draft,
        )  # fmt: skip

    def word(self) -> str:
        self.told += 1
        return f"word{self.told}"

    def maybe(self) -> str | None:
        return self.word() if self.chance.random() < 0.5 else None

    def one(self, *given: object) -> object:
        return self.chance.choice(given)

    def job(self) -> str:
        return self.chance.choice(self.jobs)

    def turn(self, writer: Writer) -> None:
        if len(self.jobs) < 3:
            self.new(writer, "")
        with suppress(InputError, LookupError):
            self.chance.choice(self.does)(writer, self.job())

    # what is shared

    def who(self) -> NewCustomer:
        name = self.chance.choice(("Bo Fern", "Ada Moss", "Cy Reed"))
        return NewCustomer(name, email=self.maybe() and f"{name[:2].strip()}@example.com", note=self.maybe())

    def product(self, *kinds: str) -> NewProduct:
        kind = self.chance.choice(kinds or ("pigment", "powder release", "sealer"))
        facts = {"pack_lb": 25.0} if self.chance.random() < 0.2 else {}
        some = ("solvent acrylic", None, None) if kind == "sealer" else (None,)
        solids = self.chance.choice((None, None, 25.0))
        return NewProduct(
            f"{kind} {self.chance.randrange(2)}", kind, chemistry=self.chance.choice(some),
            safety=self.maybe(), solids_percent=solids, **facts,
        )  # fmt: skip

    def lot(self) -> str | None:
        return self.chance.choice((None, "0329", "0417"))

    def recipe(self) -> NewRecipe:
        color = NewStageMaterial(self.product("pigment"), self.lot(), 3.0, "%")
        stages = (NewStage("integral_color", materials=(color,)), NewStage("stamp", {"pattern": self.word()}))
        return NewRecipe(self.word(), stages, reason=self.word())

    def new_area(self, name: str, writer: Writer | None = None) -> NewArea:
        uid = None
        if writer is not None and self.jobs and self.chance.random() < 0.5:
            theirs = [area.recipe.uid for area in writer.job(self.job()).areas if area.recipe]
            uid = self.chance.choice(theirs) if theirs else None
        recipe = self.recipe() if uid is None and self.chance.random() < 0.7 else None
        size = self.chance.choice((None, 120.0, 300, 812.5))
        return NewArea(name, area_ft2=size, depth_in=4, recipe=recipe, recipe_uid=uid,
                       shapes=(Shape(1, "rectangle", "10 x 12", 4.0),))  # fmt: skip

    # what is written

    def new(self, writer: Writer, _: str) -> None:
        planned = self.chance.random() < 0.4
        site = NewSite(f"{self.chance.randrange(3) + 1} Owl Hollow", self.chance.choice((None, "Fernley")),
                       "America/Chicago", map_note=self.maybe())  # fmt: skip
        new = NewJob(self.word(), self.who(), site, "planned" if planned else "poured",
                     date(2025, 6, 1) if planned else None, self.maybe(), self.job() if self.jobs else None,
                     (self.new_area("field", writer), self.new_area("border")))  # fmt: skip
        self.jobs.append(writer.add_job(new).handle)

    def told_entry(self, replaces: int | None = None) -> NewEntry:
        kind = self.chance.choice(("load", "pour", "powder_release", "seal", "seal", "reading", "visit", "sweep",
                                   "rinse", "sample", "note"))  # fmt: skip
        uses = {"powder_release": "powder release", "seal": "sealer", "load": "pigment"}
        material = NewMaterialUse(self.product(uses.get(kind, "pigment")), self.chance.choice((None, 2, 2.5)),
                                  "gal" if kind == "seal" else "lb", self.lot())  # fmt: skip
        lab = Reading(
            52.0, self.chance.uniform(2, 9), 14.5, spot=self.chance.choice(("base", "release color"))
        )
        facts = {"rinse": {"release_left_percent": self.chance.choice((20, 25.0))}, "sweep": {"reclaimed_lb": 3.5},
                 "visit": {"condition": "dull"}}  # fmt: skip
        load = NewLoad(
            self.chance.choice((None, 5, 6.5)), mix=NewMix("Gravel Hill", self.chance.choice(("1", "2")))
        )
        return NewEntry(
            kind, MORNING + timedelta(hours=self.chance.randrange(4000)), area=self.chance.choice((None, "field")),
            person=self.chance.choice((None, "Ada", "Bo")), note=self.maybe(), replaces=replaces,
            facts=facts.get(kind, {}), materials=(material,) if kind in uses else (),
            load=load if kind == "load" else None, coat=Coat(1, True) if kind == "seal" else None,
            reading=lab if kind == "reading" else None, files=self.files(),
            sample=NewSample(size="4 in", doses=((self.product("pigment"), 3.0),)) if kind == "sample" else None,
        )  # fmt: skip

    def files(self) -> tuple[NewFile, ...]:
        if self.chance.random() < 0.8:
            return ()
        path = self.folder / f"{self.chance.randrange(3)}.txt"
        path.write_text(path.name)
        return (NewFile(path),)

    def entry(self, writer: Writer, job: str) -> None:
        writer.job(job)
        writer.add_entry(job, self.told_entry())

    def entries(self, writer: Writer, job: str) -> None:
        writer.add_entries(job, [self.told_entry() for _ in range(3)])

    def corrected(self, writer: Writer, job: str) -> None:
        writer.add_entry(job, self.told_entry(self.chance.choice(writer.job(job).entries).number))

    def undone(self, writer: Writer, job: str) -> None:
        writer.undo(job, self.chance.choice(writer.job(job).entries).number)

    def state(self, writer: Writer, job: str) -> None:
        (writer.archive if self.chance.random() < 0.4 else writer.unarchive)(job)

    def note(self, writer: Writer, job: str) -> None:
        writer.update_note(job, self.maybe())

    def area(self, writer: Writer, job: str) -> None:
        writer.add_area(job, self.new_area(self.word(), writer))

    def replan(self, writer: Writer, job: str) -> None:
        writer.replan(job, self.new_area("field"), date(2025, 7, 2))

    def order(self, writer: Writer, job: str) -> None:
        held = writer.job(job).areas[0].recipe
        writer.change_recipe(job, "field", self.recipe(), version=held.version if held else 0)

    def copied(self, writer: Writer, job: str) -> None:
        writer.copy_recipe(self.job(), "field", job, "border", reason=self.maybe())

    def buried(self, writer: Writer, job: str) -> None:
        writer.add_buried(job, NewBuried("pipe", self.word(), self.chance.choice((None, 12, 12.5))))

    def owner(self, writer: Writer, job: str) -> None:
        writer.add_owner(job, self.who(), date(2025, 8, self.chance.randrange(28) + 1), self.maybe())

    def advice(self, writer: Writer, job: str) -> None:
        writer.add_advice(job, NewAdvice("order", "usual", "{}", "{}"))

    def merged(self, writer: Writer, job: str) -> None:
        writer.merge_customers(job, self.job())

    def customer(self, writer: Writer, job: str) -> None:
        writer.update_customer(job, phone=self.maybe(), leave_alone=self.chance.random() < 0.5)

    def move(self, replaces: str | None = None) -> NewStockMove:
        what = self.chance.choice(("bought", "opened", "counted", "reclaimed", "spoiled"))
        amount = None if what == "opened" else self.chance.choice((1, 6.0))
        job = self.job() if what == "reclaimed" else None
        return NewStockMove(
            self.product(), what, MORNING, amount, "lb", self.lot(), job=job, replaces=replaces
        )

    def stock(self, writer: Writer, _: str) -> None:
        writer.add_stock_move(self.move())

    def stock_undone(self, writer: Writer, _: str) -> None:
        writer.undo_stock_move(self.chance.choice(writer.stock_moves()).uid)

    def stock_corrected(self, writer: Writer, _: str) -> None:
        writer.add_stock_move(self.move(self.chance.choice(writer.stock_moves()).uid))

    def setting(self, writer: Writer, _: str) -> None:
        key, value = self.chance.choice(SETTINGS)
        writer.set_setting(key, self.chance.choice((value, None)))

    def draft(self, writer: Writer, job: str) -> None:
        writer.save_draft(job, self.chance.choice(("{}", None)))


def true(log: Log) -> None:
    with log.reading() as reader:
        assert projections.differing(reader._connection) == []
        assert shelved.differing(reader._connection) == set()


def season(log: Log, seed: int, folder: Path, units: int) -> None:
    shop = Shop(seed, folder)
    for _ in range(units):
        with log.writing() as writer:
            for _ in range(shop.chance.randrange(1, 4)):
                shop.turn(writer)
        true(log)
    report = log.check()
    assert report.ok, report.problems
    assert not any("another program" in note for note in report.notes), report.notes
    with log.writing() as writer:
        connection = writer._connection
        before = of(connection).written(connection)
        projections.refresh(connection, projections.all_jobs(connection))
        assert of(connection).written(connection) == before, "what is as it should be is written again"


@pytest.mark.parametrize("seed", [6, 12])
def test_what_is_kept_for_the_lists_is_what_it_comes_from(log: Log, tmp_path: Path, seed: int) -> None:
    season(log, seed, tmp_path, 15)


def test_a_customer_s_number_told_with_a_new_job_finds_the_old_ones(log: Log) -> None:
    with log.writing() as writer:
        old = writer.begin_job(NewJob("patio", NewCustomer("Bo Fern"), NewSite("1 Owl Hollow")))
    with log.writing() as writer:
        told = NewCustomer("Bo Fern", phone="555-0142")
        new = writer.begin_job(NewJob("walk", told, NewSite("2 Owl Hollow")))
        assert {line.handle for line in writer.lines(words="0142")} == {old, new}


def test_checks_in_turn_reach_every_job_and_lot(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    """A line with a right hash that is not what its job says: some check finds it, whichever job it is of."""
    monkeypatch.setattr(checking, "COMPARED", 2)
    with log.writing() as writer:
        for number in range(5):
            writer.begin_job(NewJob(f"walk {number}", NewCustomer("Bo"), NewSite(f"{number + 1} Owl Hollow")))
        writer.add_stock_move(
            NewStockMove(NewProduct("Soot Cat", "pigment"), "bought", MORNING, 6.0, "lb", "0329")
        )
    for job in (1, 2, 3, 4, 5):
        spoil(log, f"UPDATE job_line SET name = 'x' WHERE job_id = {job}", [job], [])
        assert not all(log.check().ok for _ in range(3))
        spoil(log, f"UPDATE job_line SET name = 'walk {job - 1}' WHERE job_id = {job}", [job], [])
        assert all(log.check().ok for _ in range(3))
    with log.reading() as reader:
        lots = shelved.every_id(reader._connection)
    spoil(log, "UPDATE shelf SET kept = 1 - kept", [], lots)
    assert not all(log.check().ok for _ in range(3))


def spoil(log: Log, statement: str, jobs: list[int], lots: list[int]) -> None:
    with log._connection(write=True) as connection:
        connection.exec_driver_sql(statement)
        seal(connection, jobs, lots)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 120))
def test_so_it_is_after_whatever_was_written(log: Log, tmp_path: Path, seed: int) -> None:
    season(log, seed, tmp_path, 120)
