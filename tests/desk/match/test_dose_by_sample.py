"""The dose by a read sample of the new lot and cement: nearer the true one, within the limits, kept where it agrees."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from fractions import Fraction as F
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import least_squares

from finishlog.cli.plan import match as command
from finishlog.color.notation.space import delta_e_2000
from finishlog.color.pigment import blend
from finishlog.desk.match import kept, plan
from finishlog.desk.plan import as_json, words
from finishlog.records.log import Reading, Shape
from finishlog.records.plan import DoseBySample, Plan, PlanRequest
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
    NewSample,
    NewSite,
)
from finishlog.tui.match import paint
from tests.color import pigment_truth
from tests.color.pigment_truth import PHOTO_SD, Floats, Truth
from tests.desk.color.test_color import USUAL, curve
from tests.desk.conftest import NOW, SheetShop

MIX = NewMix("Lower Puddle", "P-1", "Type I/II", cement_lb_per_yd3=470.0, scm_lb_per_yd3=94.0)
CONTENT = 564.0
MOST = 3.0
"""Of a pigment in percent of cement, by its maker."""
SD = tuple(map(float, PHOTO_SD / 3**0.5))
"""Of a reading that is the mean of three photos."""
PIGMENTS = (
    NewProduct("Wet Biscuit", "pigment", "Loamworks"),
    NewProduct("Damp Toast", "pigment", "Loamworks"),
)
ASKED = PlanRequest(
    "bogglethwaite-old", (Shape(1, "rect", "20x12"),), "4", plant="Lower Puddle", cement_lb_per_yd3=F(470),
    cement_kind="Type IL", scm_lb_per_yd3=F(94), lots=("K-9",),
)  # fmt: skip
SITE = NewSite("3 Tumbledown Lane", zone="America/Chicago")
CUSTOMER = NewCustomer("Bogglethwaite")


class World:
    """A truth, and the log of a shop in it: samples of the old concrete, an old slab, an addition planned."""

    def __init__(self, folder: Path, seed: int, products: Sequence[NewProduct] = PIGMENTS) -> None:
        self.rng = np.random.default_rng(seed)
        self.products = products
        self.old = pigment_truth.draw(self.rng, len(products))
        total = self.rng.uniform(1.5, 5.0)
        self.kept = total * self.rng.dirichlet(np.full(len(products), 2.0))
        self.target = self.old.lab(self.kept)[0]
        folder.mkdir(exist_ok=True)
        self.services = SheetShop(folder).services
        self.services.make_log(None).close()
        self._samples()
        self._old_slab()
        self.planned = ""

    def changed(self) -> Truth:
        """Another lot and cement that move the color by a ΔE00 of 2 to 6."""
        wave = (pigment_truth.WAVES - 550) / 150
        while True:
            cement = (
                self.old.cement * np.exp(self.rng.normal(0, 0.15)) * (1 + self.rng.normal(0, 0.06) * wave)
            )
            stronger = np.exp(self.rng.normal(0, 0.3, (len(self.kept), 1)))
            new = replace(self.old, cement=cement, pigments=self.old.pigments * stronger)
            if 2 <= delta_e_2000(new.lab(self.kept)[0], self.target) <= 6:
                return new

    def true_dose(self, new: Truth) -> Floats:
        """What would come nearest to the old slab, percent."""
        metric = blend._metric(tuple(self.target))
        found = least_squares(lambda d: metric @ (new.lab(d)[0] - self.target), self.kept, bounds=(0, 10))
        return np.asarray(found.x)

    def as_if(self, share: float) -> Floats:
        """The color of a sample whose lot colors only so much as the old one."""
        return self.old.lab(share * self.kept)[0]

    def plan(self, **more: object) -> Plan:
        return plan.make(self.services, replace(ASKED, **more))  # type: ignore[arg-type]

    def sample(self, lab: Floats, doses: Sequence[float] | None = None) -> int:
        """A sample of the new concrete under the planned job, read at four ages; its number."""
        self.planned = self.planned or plan.save(self.services, self.plan(), "addition")
        poured = NOW - timedelta(days=30)
        uses = tuple(NewMaterialUse(product, 1.0, "lb", "K-9") for product in self.products)
        told = NewSample(cement="Type IL", doses=self._doses(self.kept if doses is None else doses))
        with self.services.log().writing() as log:
            made = log.add_entry(self.planned, NewEntry("sample", poured, materials=uses, sample=told))
            number = made.sample.number if made.sample else 0
        for age in (3, 7, 14, 28):
            self._read(self.planned, poured + timedelta(days=age), curve(age, tuple(lab)), number)
        return number

    def _doses(self, percents: Sequence[float]) -> tuple[tuple[NewProduct, float], ...]:
        return tuple((p, float(d)) for p, d in zip(self.products, percents, strict=True) if d)

    def _samples(self) -> None:
        doses = pigment_truth.panel_doses(self.rng, len(self.products))
        labs = pigment_truth.read(self.rng, self.old.lab(doses))
        at = NOW - timedelta(days=400)
        with self.services.log().writing() as log:
            job = log.add_job(NewJob("samples", CUSTOMER, SITE))
        for dose, lab in zip(doses, labs, strict=True):
            told = NewSample(cement="Type I/II", doses=self._doses(dose))
            with self.services.log().writing() as log:
                made = log.add_entry(job.handle, NewEntry("sample", at, sample=told))
            self._read(
                job.handle, at + timedelta(days=60), tuple(lab), made.sample.number if made.sample else 0
            )

    def _old_slab(self) -> None:
        area = NewArea("field", area_ft2=300.0, depth_in=4.0, recipe=NewRecipe("buff"))
        at = NOW - timedelta(days=100)
        uses = tuple(
            NewMaterialUse(product, float(percent) / 100 * CONTENT * 4, "lb", "K-1")
            for product, percent in zip(self.products, self.kept, strict=True)
        )
        with self.services.log().writing() as log:
            job = log.add_job(NewJob("old", CUSTOMER, SITE, areas=(area,)))
            load = NewLoad(4.0, 0.0, 0.0, mix=MIX)
            log.add_entry(job.handle, NewEntry("load", at, area="field", materials=uses, load=load))
            log.add_entry(job.handle, NewEntry("pour", at, area="field"))
        for age in USUAL:
            seen = curve(age, tuple(self.target)) + self.rng.normal(0, 1, 3) * PHOTO_SD / 3**0.5
            self._read(job.handle, at + timedelta(days=age), tuple(seen), None)

    def _read(self, handle: str, at: datetime, lab: Sequence[float], sample: int | None) -> None:
        reading = Reading(*map(float, lab), *SD, sample=sample)
        area = "field" if sample is None else None
        with self.services.log().writing() as log:
            log.add_entry(handle, NewEntry("reading", at, area=area, reading=reading))


def dose(found: Plan) -> DoseBySample:
    assert found.dose_by_sample is not None
    return found.dose_by_sample


def percents(found: Plan) -> Floats:
    assert found.pigment is not None
    return np.array([float(part.dose_lb_per_yd3) / CONTENT * 100 for part in found.pigment.parts])


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path, 18, (replace(PIGMENTS[0], max_percent_of_cement=MOST),))
    yield made
    made.services.close()


@pytest.mark.long
def test_the_dose_by_a_sample_is_nearer_the_true_one(tmp_path: Path) -> None:
    """In 20 shops whose new lot and cement move the color by ΔE00 2 to 6, a sample poured at the old dose."""
    nearer = []
    for seed in range(20):
        world = World(tmp_path / str(seed), seed, PIGMENTS[: 1 + seed % 2])
        new = world.changed()
        world.sample(new.lab(world.kept)[0] + world.rng.normal(0, 1, 3) * PHOTO_SD / 2)
        true, found = world.true_dose(new), world.plan()
        if dose(found).state == "changed":
            nearer.append(np.linalg.norm(percents(found) - true) < np.linalg.norm(world.kept - true))
        else:
            assert percents(found) == pytest.approx(world.kept, rel=1e-6)
        world.services.close()
    print(f"another dose in {len(nearer)} of 20, nearer the true one in {sum(nearer)}")
    assert len(nearer) >= 14
    assert sum(nearer) >= 0.8 * len(nearer)


def test_a_sample_that_agrees_changes_nothing(world: World) -> None:
    before = world.plan()
    number = world.sample(world.target)
    found = world.plan()
    assert (dose(found).state, found.pigment) == ("agrees", before.pigment)
    said = next(one for one in found.differences if one.key == "dose_sample")
    assert said.text.startswith(f"sample {number} agrees: ")
    assert said.weight == "know"


def test_the_old_and_the_new_dose_stand_in_the_plan_its_json_and_the_kept_plan(world: World) -> None:
    before = world.plan()
    number = world.sample(world.as_if(0.6))
    found = world.plan()
    assert dose(found).state == "changed"
    assert before.pigment is not None
    assert found.pigment is not None
    assert found.pigment.kept == "sample"
    assert found.pigment.dose_lb_per_yd3 > before.pigment.dose_lb_per_yd3
    assert sum(load.pigment_lb for load in found.pigment.loads) > before.pigment.total_lb
    was, now = (f"{float(p.dose_lb_per_yd3):.2f}" for p in (before.pigment, found.pigment))
    said = next(one for one in found.differences if one.key == "dose_sample")
    assert said.text.startswith(f"dose by sample {number}: {now} lb/yd³ (was {was})")
    assert f"by sample {number} (was {was} lb/yd³)" in " ".join(command.sheet(found).split())
    shown = " ".join(" ".join(line.text for line in paint.whole(found, 100, "us")).split())
    assert f"dose by sample {number}: {now} lb/yd³ (was {was})" in shown
    told = json.loads(json.dumps(as_json.plan_json(found)))["dose_by_sample"]
    assert (told["sample"], told["state"]) == (number, "changed")
    assert told["dose_lb_per_yd3"] > told["old_dose_lb_per_yd3"]
    assert kept.plan_of(world.services, kept.keep_again(world.services, world.planned, found)).\
        dose_by_sample == found.dose_by_sample  # fmt: skip


def test_the_odds_are_of_the_dose_that_the_plan_weighs(world: World) -> None:
    """The sample is of the old dose; what the new one changes is in the odds, so they are better than without."""
    world.sample(world.as_if(0.6))
    found = world.plan()
    assert found.odds is not None
    assert found.odds.bare_pair is not None
    assert any("the odds are for the plan's dose" in note for note in found.odds.notes)
    old, new = found.odds.bare_pair
    assert delta_e_2000(np.array(new), np.array(old)) < 2.5


def test_no_dose_is_over_the_limits(world: World) -> None:
    """A sample far lighter than any pigment can make up for: the maker's own maximum holds."""
    world.sample(world.as_if(0.2))
    found = world.plan()
    assert found.pigment is not None
    assert found.pigment.percent_of_cement is not None
    assert MOST - 0.05 < found.pigment.percent_of_cement <= MOST
    assert "pour a ladder" in next(one for one in found.differences if one.key == "dose_sample").text


def test_a_sample_of_another_dose_is_judged_by_its_own(world: World) -> None:
    """A third more pigment and as much darker: the same lot and cement, in effect."""
    before = world.plan()
    world.sample(world.as_if(1.33), 1.33 * world.kept)
    found = world.plan()
    assert (dose(found).state, found.pigment) == ("agrees", before.pigment)
    assert np.linalg.norm(dose(found).shift_lab or (0, 0, 0)) > 1


def test_a_sample_that_no_dose_can_bring_nearer_keeps_the_dose_and_says_so(world: World) -> None:
    before = world.plan()
    along = world.as_if(0.99) - world.target
    across = np.cross(along, (1.0, 0.0, 0.0))
    world.sample(world.target + 4 * across / np.linalg.norm(across))
    found = world.plan()
    assert (dose(found).state, found.pigment) == ("no nearer", before.pigment)
    said = next(one for one in found.differences if one.key == "dose_sample")
    assert "no other dose gets closer" in said.text
    assert "pour a ladder" in said.text


def test_without_the_new_cement_content_the_dose_is_kept_and_it_is_asked(world: World) -> None:
    world.sample(world.as_if(0.6))
    found = world.plan(cement_lb_per_yd3=None)
    assert (dose(found).state, dose(found).why) == ("not told", "give the new mix's cement")
    assert found.pigment is not None
    assert found.pigment.kept == "lb/yd3"


def test_where_the_log_does_not_teach_the_pigment_the_dose_is_kept(world: World) -> None:
    before = world.plan()
    world.products = (NewProduct("Dry Crumb", "pigment", "Loamworks"),)
    world.sample(world.as_if(0.6))
    found = world.plan()
    assert (dose(found).state, found.pigment) == ("not told", before.pigment)
    assert "cannot predict Dry Crumb; pour a ladder" in dose(found).why
    number = world.sample(world.as_if(0.6), (0.0,))
    assert dose(world.plan()).why == "its own dose was not logged"
    assert dose(world.plan()).sample == number


def test_a_sample_of_another_cement_says_nothing_of_the_dose(world: World) -> None:
    world.sample(world.as_if(0.6))
    assert world.plan(cement_kind="Type III").dose_by_sample is None


def test_two_pigments_are_told_one_by_one(tmp_path: Path) -> None:
    world = World(tmp_path, 5)
    world.sample(world.changed().lab(world.kept)[0])
    found = world.plan()
    assert dose(found).state == "changed"
    text = next(one for one in found.differences if one.key == "dose_sample").text
    assert all(f"{p.name} " in text.partition(" – ")[2] for p in PIGMENTS)
    assert sum(part.dose_lb_per_yd3 for part in dose(found).parts) == dose(found).dose_lb_per_yd3
    assert words.order_lines(found)[1][2].count("by sample") == 1
    world.services.close()
