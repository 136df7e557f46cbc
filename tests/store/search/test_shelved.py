"""The shelf as it is kept is what everything adds up to, whatever was written; check sees where it is not."""

from __future__ import annotations

import random
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from finishlog.errors import InputError
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewMaterialUse,
    NewProduct,
    NewSite,
    NewStockMove,
)
from finishlog.store import Log, Reader, Writer
from finishlog.store.archive import export
from finishlog.store.search import projections, shelved
from finishlog.trade import shelf as stock

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)
PRODUCTS = (
    NewProduct("Otter Back", "powder release"),
    NewProduct("Soot Cat", "powder release"),
    NewProduct("Rust Pot", "pigment"),
    NewProduct("Clear Pond", "sealer"),
)
LOTS = (None, "0329", "0417")
UNITS = ("lb", "lb", "kg", "bag")
Told = dict[tuple[str, str | None], Mapping[str, Any]]


def kept(log: Reader, without: str | None = None) -> Told:
    return {(each.product.uid, each.lot): each.told() for each in log.shelf(without=without)}


def added_up(log: Reader, without: str | None = None) -> Told:
    moves = [move for move in log.stock_moves() if move.uid != without]
    found = stock.tallies(moves, log.material_uses(), log.swept())
    return {key: each.told() for key, each in found.items()}


def agree(log: Reader) -> None:
    assert kept(log) == added_up(log)


class Season:
    """What a shop writes of its shelf and its jobs, drawn by a seed."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.jobs: list[str] = []

    def begin(self, writer: Writer) -> None:
        areas = (NewArea("field"), NewArea("border"))
        for number in range(3):
            site = NewSite(f"{number + 1} Owl Hollow", zone="America/Chicago")
            self.jobs.append(
                writer.add_job(NewJob("patio", NewCustomer(f"Bo {number}"), site, areas=areas)).handle
            )

    def step(self, writer: Writer) -> None:
        what = self.chance.choice((self.used, self.used, self.swept, self.moved, self.moved, self.corrected,
                                   self.undone, self.move_corrected, self.move_undone, self.weighed))  # fmt: skip
        with suppress(InputError, LookupError):
            what(writer)

    def when(self) -> datetime:
        return MORNING + timedelta(days=self.chance.randrange(60), minutes=self.chance.randrange(3))

    def use(self) -> NewMaterialUse:
        amount = self.chance.choice((None, 0.1, 2.5, 14.0, 40.0))
        product, lot = self.chance.choice(PRODUCTS), self.chance.choice(LOTS)
        return NewMaterialUse(
            product, amount, self.chance.choice(UNITS), lot, reclaimed=self.chance.random() < 0.2
        )

    def entry(self) -> NewEntry:
        area = self.chance.choice((None, "field", "border"))
        uses = tuple(self.use() for _ in range(self.chance.randrange(1, 4)))
        return NewEntry("powder_release", self.when(), area=area, materials=uses)

    def used(self, writer: Writer) -> None:
        writer.add_entry(self.chance.choice(self.jobs), self.entry())

    def swept(self, writer: Writer) -> None:
        named = (self.use(),) if self.chance.random() < 0.3 else ()
        facts = {"reclaimed_lb": self.chance.choice((1.5, 6.0))} if self.chance.random() < 0.8 else {}
        area = self.chance.choice((None, "field", "border"))
        new = NewEntry("sweep", self.when(), area=area, materials=named, facts=facts)
        writer.add_entry(self.chance.choice(self.jobs), new)

    def corrected(self, writer: Writer) -> None:
        job = writer.job(self.chance.choice(self.jobs))
        old = self.chance.choice(job.entries)
        new = self.entry()
        if old.kind == "sweep":
            new = replace(new, kind="sweep", materials=(), facts={"reclaimed_lb": 3.0})
        writer.add_entry(job.handle, replace(new, replaces=old.number))

    def undone(self, writer: Writer) -> None:
        job = writer.job(self.chance.choice(self.jobs))
        writer.undo(job.handle, self.chance.choice(job.entries).number)

    def move(self) -> NewStockMove:
        what = self.chance.choice(("bought", "bought", "opened", "counted", "reclaimed", "spoiled", "thrown"))
        amount = None if what == "opened" else self.chance.choice((0.5, 6.0, 50.0))
        job = self.chance.choice((None, *self.jobs)) if what == "reclaimed" else None
        price = 75.0 if what == "bought" else None
        return NewStockMove(self.chance.choice(PRODUCTS), what, self.when(), amount, self.chance.choice(UNITS),
                            self.chance.choice(LOTS), price, job=job)  # fmt: skip

    def moved(self, writer: Writer) -> None:
        writer.add_stock_move(self.move())

    def move_corrected(self, writer: Writer) -> None:
        old = self.chance.choice(writer.stock_moves())
        writer.add_stock_move(replace(self.move(), replaces=old.uid))

    def move_undone(self, writer: Writer) -> None:
        gone = [each for each in writer.stock_moves(history=True) if each.withdrawn]
        if gone and self.chance.random() < 0.5:
            writer.again_stock_move(self.chance.choice(gone).uid)
        else:
            writer.undo_stock_move(self.chance.choice(writer.stock_moves()).uid)

    def weighed(self, writer: Writer) -> None:
        """A bag's weight becomes known, seldom: all that was logged in bags is in pounds from then on."""
        if self.chance.random() < 0.2:
            product = replace(self.chance.choice(PRODUCTS), pack_lb=25.0)
            writer.add_stock_move(replace(self.move(), product=product))


@pytest.mark.parametrize(
    "seed", [0, 1, *(pytest.param(seed, marks=pytest.mark.long) for seed in (*range(2, 10), 11))]
)
def test_the_shelf_is_what_everything_adds_up_to(log: Log, seed: int) -> None:
    season = Season(seed)
    with log.writing() as writer:
        season.begin(writer)
    for _ in range(14):
        with log.writing() as writer:
            for _ in range(season.chance.randrange(1, 4)):
                season.step(writer)
            if season.chance.random() < 0.5:
                agree(writer)
        with log.reading() as reader:
            agree(reader)
    with log.reading() as reader:
        assert len(kept(reader)) > 5
        for move in reader.stock_moves():
            assert kept(reader, without=move.uid) == added_up(reader, without=move.uid)
        for product in reader.products():
            some = {(each.product.uid, each.lot) for each in reader.shelf([product.uid])}
            assert some == {key for key in kept(reader) if key[0] == product.uid}
    report = log.check()
    assert report.ok, report.problems


def filled(log: Log) -> Season:
    season = Season(3)
    with log.writing() as writer:
        season.begin(writer)
        for _ in range(60):
            season.step(writer)
    return season


def test_a_unit_of_work_that_fails_leaves_the_shelf_as_it_was(log: Log) -> None:
    season = filled(log)
    with log.reading() as reader:
        before = kept(reader)

    def fail() -> None:
        with log.writing() as writer:
            season.used(writer)
            season.moved(writer)
            agree(writer)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    with log.reading() as reader:
        assert kept(reader) == before == added_up(reader)


def test_an_export_comes_back_with_its_shelf(log: Log, tmp_path: Path) -> None:
    filled(log)
    with log.reading() as reader:
        before = sorted(map(repr, kept(reader).values()))
    export.dump(log, tmp_path / "out")
    assert not (tmp_path / "out" / "shelf.csv").exists()
    export.restore(tmp_path / "out", tmp_path / "back.finishlog")
    back = Log.open(tmp_path / "back.finishlog", clock=lambda: MORNING, new_uid=lambda: "none")
    with back.reading() as reader:
        assert sorted(map(repr, kept(reader).values())) == before
        agree(reader)
    assert back.check().ok
    back.close()


@pytest.mark.parametrize(
    "harm",
    [
        'UPDATE shelf SET sums = replace(sums, \'"fresh":"\', \'"fresh":"1\')',
        "DELETE FROM shelf WHERE id = (SELECT min(id) FROM shelf)",
        "UPDATE shelf SET id = id + 5000 WHERE id = (SELECT min(id) FROM shelf)",
    ],
)
def test_check_sees_a_shelf_that_is_not_the_sum_and_mend_makes_it_anew(log: Log, harm: str) -> None:
    filled(log)
    with log._connection(write=True) as connection:
        connection.exec_driver_sql(harm)
    report = log.check()
    assert not report.ok
    assert report.mendable
    assert "the shelf" in report.problems[0]
    log.mend(log.mendable())
    assert log.check().ok
    with log.reading() as reader:
        agree(reader)


def test_a_wrong_sum_with_a_right_hash_is_found(log: Log) -> None:
    """As after a fault of the program's own: what is kept is compared with what it is the sum of."""
    filled(log)
    with log._connection(write=True) as connection:
        connection.exec_driver_sql("UPDATE shelf SET kept = 1 - kept WHERE id = (SELECT min(id) FROM shelf)")
        assert len(shelved.differing(connection)) == 1
        jobs = projections.all_jobs(connection)
        assert shelved.differing(connection, jobs) == shelved.differing(connection)


def test_writing_for_one_job_reads_only_what_touches_its_lots(log: Log) -> None:
    """The rows read to add up one lot do not grow with the other lots of its product."""
    with log.writing() as writer:
        Season(1).begin(writer)
        job = writer.lines()[0].handle
        for number in range(120):
            use = NewMaterialUse(PRODUCTS[0], 2.0, "lb", f"lot {number // 3}")
            writer.add_entry(job, NewEntry("powder_release", MORNING, materials=(use,)))
    read: list[int] = []
    with pytest.MonkeyPatch.context() as patch, log.writing() as writer:
        real = stock.tallies
        patch.setattr(stock, "tallies", lambda m, u, s: (read.append(len(u)), real(m, u, s))[1])
        use = NewMaterialUse(PRODUCTS[0], 2.0, "lb", "lot 7")
        writer.add_entry(job, NewEntry("powder_release", MORNING, materials=(use,)))
        writer.shelf()
    assert set(read) == {4}


@pytest.mark.parametrize("named", [None, "otter  back"])
def test_asking_for_products_leaves_the_shelf_for_the_end_of_the_unit(log: Log, named: str | None) -> None:
    """A sheet asks so for every row: the shelf was added up and the job read anew each time."""
    use = NewEntry("powder_release", MORNING, materials=(NewMaterialUse(PRODUCTS[0], 3.0, "lb", "0329"),))
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("1 Elm"), handle="patio"))
        writer.add_entry("patio", use)
        job = writer.job("patio")
        found = writer.products("powder release", named=named)
        assert [product.name for product in found] == ["Otter Back"]
        assert writer.job("patio") is job
    with log.reading() as reader:
        agree(reader)


def test_products_are_named_though_what_is_kept_of_a_lot_is_noise(log: Log) -> None:
    filled(log)
    with log.reading() as reader:
        names = {product.uid for product in reader.products()}
    with log.writing() as writer:
        writer._connection.exec_driver_sql(
            "UPDATE shelf SET sums = '{\"day used\": }' WHERE id IN (SELECT min(id) FROM shelf)"
        )
    with log.reading() as reader:
        assert {product.uid for product in reader.products()} == names
