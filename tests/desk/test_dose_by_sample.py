"""The dose by a read sample of the new lot and cement: nearer the true one, within the limits, kept where it agrees."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction as F
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import least_squares

from finishlog.cli import match as command
from finishlog.color import blend
from finishlog.color.space import delta_e_2000
from finishlog.desk import kept_plan, plan, plan_words, tell
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
from tests.color import pigment_truth
from tests.color.pigment_truth import PHOTO_SD, Floats, Truth
from tests.desk.conftest import NOW, SheetShop
from tests.desk.test_color import USUAL, curve

MIX = NewMix("Lower Puddle", "P-1", "Type I/II", cement_lb_per_yd3=470.0, scm_lb_per_yd3=94.0)
CONTENT = 564.0
PIGMENTS = (NewProduct("Wet Biscuit", "pigment", "Loamworks"), NewProduct("Damp Toast", "pigment", "Loamworks"))
ASKED = PlanRequest(
    "bogglethwaite-old", (Shape(1, "rect", "20x12"),), "4", plant="Lower Puddle", cement_lb_per_yd3=F(470),
    cement_kind="Type IL", scm_lb_per_yd3=F(94), lots=("K-9",),
)  # fmt: skip
SITE = NewSite("3 Tumbledown Lane", zone="America/Chicago")
CUSTOMER = NewCustomer("Bogglethwaite")


class World:
    """A truth, and the log of a shop in it: samples of the old concrete, an old slab, an addition that is planned."""

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
            cement = self.old.cement * np.exp(self.rng.normal(0, 0.15)) * (1 + self.rng.normal(0, 0.06) * wave)
            stronger = np.exp(self.rng.normal(0, 0.3, (len(self.kept), 1)))
            new = replace(self.old, cement=cement, pigments=self.old.pigments * stronger)
            if 2 <= delta_e_2000(new.lab(self.kept)[0], self.target) <= 6:
                return new

    def true_dose(self, new: Truth) -> Floats:
        """What would come nearest to the old slab, percent."""
        metric = blend._metric(tuple(self.target))
        found = least_squares(lambda d: metric @ (new.lab(d)[0] - self.target), self.kept, bounds=(0, 10))
        return np.asarray(found.x)

    def plan(self, **more: object) -> Plan:
        return plan.make(self.services, replace(ASKED, **more))  # type: ignore[arg-type]

    def sample(self, lab: Floats, doses: Sequence[float] | None = None, read: bool = True) -> int:
        """A sample of the new concrete under the planned job, read at four ages; its number."""
        self.planned = self.planned or plan.save(self.services, self.plan(), "addition")
        poured = NOW - timedelta(days=30)
        uses = tuple(NewMaterialUse(product, 1.0, "lb", "K-9") for product in self.products)
        told = NewSample(cement="Type IL", doses=self._doses(self.kept if doses is None else doses))
        with self.services.log().writing() as log:
            made = log.add_entry(self.planned, NewEntry("sample", poured, materials=uses, sample=told))
            number = made.sample.number if made.sample else 0
        for age in (3, 7, 14, 28) if read else ():
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
            sd = tuple(PHOTO_SD / 3**0.5)
            self._read(job.handle, at + timedelta(days=60), tuple(lab), made.sample.number, sd)

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

    def _read(self, handle, at, lab, sample, sd=(None, None, None)) -> None:  # type: ignore[no-untyped-def]
        reading = Reading(*map(float, lab), *sd, sample=sample)
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
    made = World(tmp_path, 6, PIGMENTS[:1])
    yield made
    made.services.close()


def test_the_dose_by_a_sample_is_nearer_the_true_one(tmp_path: Path) -> None:
    """In 20 shops whose new lot and cement move the color by ΔE00 2 to 6."""
    nearer, told = 0, 0
    for seed in range(20):
        world = World(tmp_path / str(seed), seed, PIGMENTS[: 1 + seed % 2])
        new = world.changed()
        world.sample(new.lab(world.kept)[0] + world.rng.normal(0, 1, 3) * PHOTO_SD / 2)
        true, found = world.true_dose(new), world.plan()
        told += dose(found).state == "changed"
        off, was = np.linalg.norm(percents(found) - true), np.linalg.norm(world.kept - true)
        print(seed, dose(found).state, world.kept, percents(found), true)
        nearer += bool(off < was)
        world.services.close()
    print(f"nearer in {nearer} of 20; another dose in {told}")
    assert nearer >= 16
