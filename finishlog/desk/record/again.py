"""An entry's content, ready to save again: brought back on its own job, or on another."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from finishlog.desk.said import MOVED
from finishlog.records.log import Entry, Load, Mix, Product, Sample
from finishlog.records.writing import (
    NewEntry,
    NewFile,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewSample,
)

Areas = Mapping[str, str]
"""Names by uid of the areas that exist."""


def as_new(entry: Entry, names: Areas, file_path: Callable[[str], Path]) -> NewEntry:
    """Everything in an entry. An area missing from `names` is left open; `file_path` finds a file."""
    return NewEntry(
        kind=entry.kind,
        happened=entry.happened,
        exactness=entry.exactness,
        area=names.get(entry.area or ""),
        person=entry.person,
        note=entry.note,
        facts={key: value for key, value in entry.facts.items() if key not in MOVED},
        materials=tuple(
            NewMaterialUse(_product(use.product), use.amount, use.unit, use.lot, use.reclaimed)
            for use in entry.materials
        ),
        load=None if entry.load is None else _load(entry.load, names),
        coat=entry.coat,
        reading=entry.reading,
        sample=None if entry.sample is None else _sample(entry.sample),
        approval=entry.approval,
        claim=entry.claim,
        files=tuple(NewFile(file_path(file.sha256), file.name, file.media_type) for file in entry.files),
    )


def _product(product: Product) -> NewProduct:
    return NewProduct(product.name, product.kind, product.maker)


def _load(load: Load, names: Areas) -> NewLoad:
    """If any area is missing, the split is dropped."""
    known = all(uid in names for uid, _ in load.areas)
    return NewLoad(
        load.yards, load.returned_yd3, load.dumped_yd3, load.ticket,
        None if load.mix is None else _mix(load.mix), load.water_gal, load.water_when, load.slump_in,
        load.slump_end_in, load.is_balance,
        tuple((names[uid], yards) for uid, yards in load.areas) if known else (),
    )  # fmt: skip


def _mix(mix: Mix) -> NewMix:
    return NewMix(
        mix.plant, mix.number, mix.cement_kind, mix.cement_mill, mix.cement_lb_per_yd3, mix.scm_kind,
        mix.scm_lb_per_yd3, mix.admixtures, mix.sand, mix.valid_from, mix.valid_to,
    )  # fmt: skip


def _sample(sample: Sample) -> NewSample:
    return NewSample(
        sample.number, sample.load, sample.size, sample.kept_where, sample.half_sealed, sample.cement,
        tuple((_product(pigment), percent) for pigment, percent in sample.doses),
    )  # fmt: skip
