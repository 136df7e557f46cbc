"""A paper log tells pours, not recipes: joined by finish, its slabs forecast the next one as one shop's log would.

Figures: color-methods.md, "Cure forecast": 40 slabs of 8 recipes, median day-1 error 1.44; each pour a recipe of its
own 2.09.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from finishlog.color.aging import cure
from finishlog.color.notation.space import delta_e_2000
from finishlog.desk.color import learned, recipes
from finishlog.desk.color.learned import State
from finishlog.records.log import Reading
from finishlog.records.writing import NewEntry
from tests.color.cure_truth import Shop, Slab, Truth
from tests.desk.conftest import SheetShop


@contextmanager
def paper_log(shop: Shop, folder: Path) -> Iterator[tuple[SheetShop, dict[str, str]]]:
    """The shop's slabs imported as a sheet of pours, then read; with a job of each finish that was poured."""
    made = SheetShop(folder)
    shades = {name: f"Shade {name}" for name in shop.recipes}
    made.bring(*(
        {"customer": f"Customer {at}", "poured_on": f"2025-{1 + at % 9:02}-{1 + at % 27:02}", "yards": "6",
         "cement_kind": "Type I/II", "base": shades[slab.recipe], "dose": "7 lb/yd3"}
        for at, slab in enumerate(shop.log)
    ))  # fmt: skip
    jobs = {job.customer.name: job for job in made.jobs()}
    for at, slab in enumerate(shop.log):
        job = jobs[f"Customer {at}"]
        [pour] = job.of_kind("pour")
        with made.services.log().writing() as log:
            for age, lab in zip(slab.ages, slab.lab, strict=True):
                L, a, b = map(float, lab)
                when = pour.happened + timedelta(days=float(age))
                log.add_entry(
                    job.handle, NewEntry("reading", when, area=job.areas[0].name, reading=Reading(L, a, b))
                )
    try:
        yield made, {slab.recipe: jobs[f"Customer {at}"].handle for at, slab in enumerate(shop.log)}
    finally:
        made.services.close()


def recipe_of(made: SheetShop, handle: str | None) -> str | None:
    """What the log calls the recipe of a job."""
    with made.services.log().reading() as log:
        return (
            next((row.recipe for row in log.learning_rows_of(handle) if row.job == handle), None)
            if handle
            else None
        )


def errors(state: State, new: list[Slab], recipe: dict[str, str | None]) -> list[float]:
    """ΔE00 of each new slab's day-45 forecast from its reading of day 1."""
    found = []
    for slab in new:
        made = cure.fit(slab.read(1.9), state.learned.prior(recipe.get(slab.recipe)))
        found.append(float(delta_e_2000(made.at([45.0])[0][0], slab.true(45.0))))
    return found


def joined_and_apart(seed: int, truth: Truth, new: int, folder: Path) -> tuple[list[float], list[float]]:
    """Errors with the recipes as the import joined them, and with every joining taken back."""
    shop = Shop(seed, truth)
    slabs = shop.new(new)
    with paper_log(shop, folder) as (made, handles):
        told = {finish: recipe_of(made, handle) for finish, handle in handles.items()}
        together = errors(learned.state(made.services), slabs, told)
        groups = recipes.groups(made.services).groups
        poured = [slab.recipe for slab in shop.log]
        assert sorted(len(group.families) for group in groups) == sorted(
            number for finish in set(poured) if (number := poured.count(finish)) > 1
        )
        for group in groups:
            recipes.part_group(made.services, group)
        alone = dict.fromkeys(told)  # the new pour is a recipe of its own too
        return together, errors(learned.state(made.services), slabs, alone)


def test_an_imported_log_pools_its_slabs_by_finish(tmp_path: Path) -> None:
    together, apart = joined_and_apart(1, Truth(jobs=14, recipes=3), 30, tmp_path)
    assert np.median(together) < 0.85 * np.median(apart)


@pytest.mark.long
def test_forty_pours_of_eight_finishes_forecast_as_one_log(tmp_path: Path) -> None:
    together, apart = [], []
    for seed in range(6):
        folder = tmp_path / str(seed)
        folder.mkdir()
        some, others = joined_and_apart(seed, Truth(), 50, folder)
        together += some
        apart += others
    print(f"median day-1 error: joined {np.median(together):.2f}, apart {np.median(apart):.2f}")
    assert np.median(together) <= 1.44 * 1.05
    assert np.median(apart) >= 1.9
