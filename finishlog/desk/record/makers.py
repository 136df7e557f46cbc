"""The maker of a shade given by name only: the job's own, else the only one in the log."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from finishlog.records.log import Job, Product
from finishlog.records.writing import NewEntry, NewMaterialUse

if TYPE_CHECKING:
    from finishlog.store import Reader


def told(log: Reader, job: Job, new: NewEntry) -> NewEntry:
    """The entry with the maker of each product that was named without one, if there can be only one.

    A shade is never a name alone: the same word differs from maker to maker. Where two have it, it stays open.
    """
    told = replace(new, materials=tuple(_use(log, job, use) for use in new.materials))
    if new.sample is None or not new.sample.doses:
        return told
    doses = tuple((_use(log, job, NewMaterialUse(p)).product, percent) for p, percent in new.sample.doses)
    return replace(told, sample=replace(new.sample, doses=doses))


def _use(log: Reader, job: Job, use: NewMaterialUse) -> NewMaterialUse:
    if use.product.maker is not None:
        return use
    kind = use.product.kind
    maker = _only(use, _of_job(job)) or _only(use, log.products(kind, named=use.product.name))
    return use if maker is None else replace(use, product=replace(use.product, maker=maker))


def _only(use: NewMaterialUse, products: Iterable[Product]) -> str | None:
    """The maker that all products of that name have, if it is one."""
    name = " ".join(use.product.name.casefold().split())
    makers = {
        product.maker
        for product in products
        if product.kind == use.product.kind and " ".join(product.name.casefold().split()) == name
    }
    named = makers - {None}
    return named.pop() if len(named) == 1 else None


def _of_job(job: Job) -> Iterator[Product]:
    for area in job.areas:
        for stage in area.recipe.stages if area.recipe else ():
            yield from (material.product for material in stage.materials)
    for entry in job.entries:
        yield from (use.product for use in entry.materials)
