"""What lots, cements and plants do is kept beside the shop: learned anew only where loads say something else."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from finishlog.color.aging import effects
from finishlog.desk.match import gate
from finishlog.desk.match.gate import Learnt
from finishlog.records.log import Reading
from finishlog.records.writing import NewEntry, NewLoad, NewMaterialUse, NewMix, NewProduct
from tests.desk.color.test_kept import again
from tests.desk.conftest import NOW
from tests.desk.match.test_gate import BISCUIT, MIX, OLD, GateShop


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[GateShop]:
    made = GateShop(tmp_path)
    for i in range(3):
        made.pour(f"past {i}", 300 + 20 * i)
        made.pour(f"dark {i}", 310 + 20 * i, lot="K-9", off=-6.0)
    made.pour("old", 100)
    yield made
    made.services.close()


def same(one: Learnt, other: Learnt) -> None:
    assert one.of == other.of
    assert one.effects.names == other.effects.names
    assert one.effects.recipes == other.effects.recipes
    for factor, sd in one.effects.sd.items():
        assert np.allclose(sd, other.effects.sd[factor])
    assert np.allclose(one.effects.cov, other.effects.cov)


@pytest.fixture
def learning(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    calls: list[int] = []
    once = effects.learn

    def counted(slabs: Any) -> Any:
        calls.append(len(slabs))
        return once(slabs)

    monkeypatch.setattr(effects, "learn", counted)
    return calls


def _other_lot(shop: GateShop, handle: str) -> None:
    with shop.services.log().writing() as log:
        load = log.job(handle).of_kind("load")[0]
        use = NewMaterialUse(BISCUIT, 60.0, "lb", "K-5")
        log.add_entry(handle, NewEntry("load", load.happened, area="field", materials=(use,),
                                       load=NewLoad(4.0, 0.0, 0.0, mix=MIX), replaces=load.number))  # fmt: skip


def _other_load(shop: GateShop, handle: str) -> None:
    with shop.services.log().writing() as log:
        load = log.job(handle).of_kind("load")[0]
        mix = NewMix("Upper Puddle", "P-2", "Type IL")
        log.add_entry(
            handle, NewEntry("load", load.happened, area="field", load=NewLoad(1.0, 0.0, 0.0, mix=mix))
        )


CHANGES = {"another lot": _other_lot, "one more load": _other_load}


@pytest.mark.parametrize("what", CHANGES)
def test_what_a_load_says_of_a_slab_that_taught_is_learned_anew(
    shop: GateShop, learning: list[int], what: str
) -> None:
    gate.learnt(shop.services, "base", OLD)
    learning.clear()
    CHANGES[what](shop, "bogglethwaite-past-1")
    ours = gate.learnt(shop.services, "base", OLD)
    assert learning
    _anew(shop, ours)


def test_a_reading_or_a_note_learns_no_effect_anew(shop: GateShop, learning: list[int]) -> None:
    with shop.services.log().writing() as log:  # between two rungs: 43 readings would be one each
        for place in range(60):
            at, lab = NOW - timedelta(days=30 - place / 10), Reading(60.0, 5.0, 13.0)
            log.add_entry(OLD, NewEntry("reading", at, area="field", reading=lab))
    gate.learnt(shop.services, "base", OLD)
    learning.clear()
    with shop.services.log().writing() as log:
        log.add_entry(OLD, NewEntry("reading", NOW, area="field", reading=Reading(60.0, 5.0, 13.0)))
        log.add_entry(OLD, NewEntry("note", NOW, note="rain"))
        log.add_entry("bogglethwaite-past-0", NewEntry("note", NOW, materials=(
            NewMaterialUse(NewProduct("Clear Pond", "sealer", "Loamworks"), 1.0, "gal"),)))  # fmt: skip
    other = again(shop)  # type: ignore[arg-type]
    ours = gate.learnt(other, "base", OLD)
    assert learning == []
    other.close()
    _anew(shop, ours)


def _anew(shop: GateShop, ours: Learnt) -> None:
    """A program that finds nothing kept answers the same."""
    with closing(sqlite3.connect(shop.services.log().where)) as raw, raw:
        raw.execute("DELETE FROM learned")
    other = again(shop)  # type: ignore[arg-type]
    same(ours, gate.learnt(other, "base", OLD))
    other.close()
