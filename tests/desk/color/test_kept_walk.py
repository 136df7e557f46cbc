"""A shop that logs at random: what was learned as it went, learned once, and learned of its export agree."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from finishlog.desk.color import learned
from finishlog.desk.match import gate, how_good
from finishlog.desk.record import taking_back
from finishlog.desk.services import Services
from finishlog.records.log import Job, Reading
from finishlog.records.writing import NewArea, NewEntry, NewMaterialUse, NewProduct, NewRecipe
from finishlog.store import Log
from finishlog.store.archive.export import dump, restore
from finishlog.store.search import moments
from finishlog.trade.event_kinds import JOINED, JOINED_RECIPE, JOINED_TO
from tests.desk.color.test_color import USUAL, Yard, curve
from tests.desk.color.test_kept import again, answers, emptied, same
from tests.desk.conftest import NOW


class Walk:
    """One thing logged at a time, chosen by chance."""

    def __init__(self, yard: Yard, seed: int) -> None:
        self.yard, self.dice = yard, random.Random(seed)
        self.handles = [self.pour(place) for place in range(4)]
        self.steps = (
            *[self.read] * 8, self.correct, self.undo, self.end, self.seal, self.area, self.recipe, self.join,
            self.part, self.move, self.archive, self.another, self.label,
        )  # fmt: skip

    def pour(self, number: int) -> str:
        return self.yard.pour(f"walk {number}", self.dice.uniform(20, 90), own=self.dice.random() < 0.4)

    def step(self) -> str:
        chosen = self.dice.choice(self.steps)
        chosen()
        return chosen.__name__

    def job(self, handle: str | None = None) -> Job:
        with self.yard.services.log().reading() as log:
            return log.job(handle or self.dice.choice(self.handles))

    def add(self, job: Job, entry: NewEntry) -> None:
        with self.yard.services.log().writing() as log:
            log.add_entry(job.handle, entry)

    def one(self, job: Job, kind: str) -> Any:
        found = [entry for entry in job.entries if entry.kind == kind]
        return self.dice.choice(found) if found else None

    def reading(self, age: float) -> Reading:
        L, a, b = (value + self.dice.gauss(0, 1) for value in curve(min(max(age, 0.1), 60)))
        kind = self.dice.random()
        return Reading(L, a, b, damp=kind < 0.15, sealed=0.15 <= kind < 0.3,
                       spot=self.dice.choice(["base"] * 5 + ["release"]))  # fmt: skip

    def read(self) -> None:
        job = self.job()
        age = self.dice.choice((*USUAL, 90, 150))
        at = job.entries[0].happened + timedelta(days=age)
        self.add(job, NewEntry("reading", at, area=self.name(job), reading=self.reading(age)))

    def name(self, job: Job) -> str | None:
        return self.dice.choice([*(area.name for area in job.areas), "field", "field", None])

    def correct(self) -> None:
        job = self.job()
        if old := self.one(job, "reading"):
            new = NewEntry(
                "reading", old.happened, area="field", reading=self.reading(7), replaces=old.number
            )
            self.add(job, new)

    def undo(self) -> None:
        job = self.job()
        if old := self.one(job, "reading"):
            with self.yard.services.log().writing() as log:
                log.undo(job.handle, old.number)

    def end(self) -> None:
        job = self.job()
        if old := self.one(job, "pour"):
            at = old.happened - timedelta(days=self.dice.choice((0.5, 1)))
            self.add(job, NewEntry("pour", at, area="field", replaces=old.number))

    def seal(self) -> None:
        job = self.job()
        at = job.entries[0].happened + timedelta(days=self.dice.choice((10, 30, 50)))
        use = NewMaterialUse(NewProduct("sealer", f"coat {self.dice.randrange(3)}"), 1.0, "gal")
        self.add(job, NewEntry("seal", at, area="field", materials=(use,)))

    def label(self) -> None:
        job = self.job()
        chemistry = self.dice.choice(("silane", "acrylic"))
        use = NewMaterialUse(
            NewProduct("sealer", f"coat {self.dice.randrange(3)}", chemistry=chemistry), 1.0, "gal"
        )
        self.add(job, NewEntry("seal", NOW, area="field", materials=(use,)))

    def area(self) -> None:
        job = self.job()
        with self.yard.services.log().writing() as log:
            log.add_area(job.handle, NewArea(f"border {len(job.areas)}"))

    def recipe(self) -> None:
        job = self.job()
        with self.yard.services.log().writing() as log:
            if self.dice.random() < 0.5:
                was = next((area.recipe for area in job.areas if area.name == "field"), None)
                log.change_recipe(job.handle, "field", NewRecipe("changed", reason="asked"),
                                  version=was.version if was else 0)  # fmt: skip
            else:
                log.copy_recipe(self.dice.choice(self.handles), "field", job.handle, "field", reason="asked")

    def join(self) -> None:
        one, other = self.job(), self.job()
        with self.yard.services.log().reading() as log:
            uids = [next(iter(log.families(job.handle).values())) for job in (one, other)]
        if uids[0] != uids[1]:
            self.add(one, NewEntry(JOINED, NOW, area="field",
                                   facts={JOINED_RECIPE: uids[0], JOINED_TO: uids[1]}))  # fmt: skip

    def part(self) -> None:
        for handle in self.handles:
            job = self.job(handle)
            if old := self.one(job, JOINED):
                with self.yard.services.log().writing() as log:
                    log.undo(handle, old.number)
                return

    def move(self) -> None:
        one, other = self.job(), self.job()
        if one.handle != other.handle and (old := self.one(one, "reading")):
            taking_back.move(
                self.yard.services, one.handle, old.number, other.handle, because="the wrong job"
            )

    def archive(self) -> None:
        job = self.job()
        with self.yard.services.log().writing() as log:
            (log.unarchive if job.state == "archived" else log.archive)(job.handle)

    def another(self) -> None:
        if len(self.handles) < 9:
            self.handles.append(self.pour(len(self.handles)))


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Yard]:
    """Rungs come early and lie far apart, so that much is told between two."""
    monkeypatch.setattr(moments, "FEW", 6)
    monkeypatch.setattr(moments, "STEP_SHARE", 3)
    made = Yard(tmp_path)
    yield made
    made.services.close()


def told(services: Services) -> tuple[dict[str, Any], tuple[Any, ...]]:
    """Every job's colors; and how good they were, lots' effects and what drying brings."""
    with services.log().reading() as log:
        handles = [line.handle for line in log.lines()]
    found = [gate.learnt(services, "base", handle) for handle in handles[:3]]
    effects = [(sorted(one.of.items()), sorted(one.effects.sd.items())) for one in found]
    return answers(services), (how_good._by_day_once(services), effects, learned.state(services).look)


def alike(one: Any, other: Any, when: str) -> None:
    assert one[0].keys() == other[0].keys(), when
    same(one[0], other[0])
    assert repr(one[1]) == repr(other[1]), when


@pytest.mark.parametrize(
    ("seed", "steps", "every"),
    [(1, 24, 8), *(pytest.param(seed, 150, 5, marks=pytest.mark.long) for seed in range(2, 10))],
)
def test_whoever_looked_when_the_answers_are_the_logs(
    yard: Yard, tmp_path: Path, seed: int, steps: int, every: int
) -> None:
    walk, done = Walk(yard, seed), []
    for place in range(1, steps + 1):
        done.append(walk.step())
        ours = told(yard.services)
        if place % every == 0:
            out, back = tmp_path / f"out {place}", tmp_path / f"back {place}.finishlog"
            dump(yard.services.log(), out)
            restore(out, back)
            fresh = again(yard)
            fresh.open_log = lambda back=back: Log.open(
                back, clock=yard.services.clock, new_uid=lambda: "unused"
            )
            alike(ours, told(fresh), f"{place} restored {done[-every:]}")
            fresh.close()
            kept = again(yard)
            alike(ours, told(kept), f"{place} kept {done[-every:]}")
            kept.close()
    emptied(yard.services)
    fresh = again(yard)
    alike(ours, told(fresh), f"emptied {done}")
    fresh.close()
