"""An entry's content, ready to save again: brought back on its own job, or on another."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any, TypeVar

from finishlog.desk.said import MOVED
from finishlog.records.log import Entry, Load, MaterialUse, Product, Sample
from finishlog.records.writing import (
    NewEntry,
    NewFile,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewSample,
)

T = TypeVar("T")
Areas = Mapping[str, str]
"""Names by uid of the areas that exist."""


def as_new(entry: Entry, names: Areas, file_path: Callable[[str], Path]) -> NewEntry:
    """Everything in an entry. An area missing from `names` is left open; `file_path` finds a file."""
    return _taken(
        NewEntry,
        entry,
        area=names.get(entry.area or ""),
        facts={key: value for key, value in entry.facts.items() if key not in MOVED},
        materials=tuple(used_again(use) for use in entry.materials),
        load=None if entry.load is None else _load(entry.load, names),
        sample=None if entry.sample is None else _sample(entry.sample),
        files=files_again(entry, file_path),
        replaces=None,
        withdrawn=False,
        uid="",
    )


def _taken(kind: type[T], held: Any, **other: object) -> T:
    """A value to be kept with what the held one says in fields of the same names; `other` is what differs."""
    names = {each.name for each in fields(kind)} & {each.name for each in fields(held)}  # type: ignore[arg-type]
    return kind(**{name: getattr(held, name) for name in names} | other)


def used_again(use: MaterialUse) -> NewMaterialUse:
    """The product named by name, kind and maker, with all else that was told of it."""
    return _taken(NewMaterialUse, use, product=_product(use.product))


def files_again(entry: Entry, file_path: Callable[[str], Path]) -> tuple[NewFile, ...]:
    """The files of an entry, to be kept with another."""
    return tuple(NewFile(file_path(file.sha256), file.name, file.media_type) for file in entry.files)


def _product(product: Product) -> NewProduct:
    return NewProduct(product.name, product.kind, product.maker)


def _load(load: Load, names: Areas) -> NewLoad:
    """If any area is missing, the split is dropped."""
    known = all(uid in names for uid, _ in load.areas)
    areas = tuple((names[uid], yards) for uid, yards in load.areas) if known else ()
    return _taken(NewLoad, load, mix=None if load.mix is None else _taken(NewMix, load.mix), areas=areas)


def _sample(sample: Sample) -> NewSample:
    doses = tuple((_product(pigment), percent) for pigment, percent in sample.doses)
    return _taken(NewSample, sample, doses=doses)
