"""Recipe changes as typed: `integral_color.rate=7 lb/yd3`, `stamp.pattern=ashlar`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from finishlog import units
from finishlog.errors import InputError, naming
from finishlog.inputs.readers import read_name
from finishlog.records.log import Recipe, Stage
from finishlog.records.writing import NewProduct, NewRecipe, NewStage, NewStageMaterial
from finishlog.trade import release, stages

OF_PRODUCT = ("product", "maker", "lot", "rate")
EXAMPLE = "integral_color.rate=7 lb/yd3"


def changed(
    recipe: Recipe | None, changes: Mapping[str, str], *, drop: tuple[str, ...], name: str | None, reason: str
) -> NewRecipe:
    """The changed recipe. Raises InputError for an unknown stage or fact."""
    held = {stage.kind: _as_new(stage) for stage in recipe.stages} if recipe else {}
    further = _doubled(recipe)
    for kind in drop:
        if held.pop(stages.kind(kind).key, None) is None:
            raise InputError(f"The recipe has no {kind}.", where="--drop", example=next(iter(held), "stamp"))
    for key, text in changes.items():
        kind, dot, fact = key.partition(".")
        if not dot:
            raise InputError(f"“{units.shown(key)}” is no stage and fact.", where="--set", example=EXAMPLE)
        stage = held.get(stages.kind(kind).key) or NewStage(kind)
        held[kind] = _set(stage, fact, text)
    if any(key.startswith("powder_release.") for key in changes):
        _check_shades(held["powder_release"])
    order = [kind.key for kind in stages.KINDS]
    whole = sorted((*held.values(), *further), key=lambda stage: order.index(stage.kind))
    called = name or (recipe.name if recipe else "finish")
    return NewRecipe(called, tuple(whole), recipe.uid if recipe else None, reason)


def _check_shades(stage: NewStage) -> None:
    ratio = stage.params.get("mix_ratio")
    try:
        release.check_shades(None if ratio is None else str(ratio), len(stage.materials))
    except InputError as wrong:
        raise wrong.at(f"powder_release.{wrong.where}") from None


def _doubled(recipe: Recipe | None) -> tuple[NewStage, ...]:
    """Stages of a kind that stood before: only the first of a kind is changed."""
    seen: set[str] = set()
    found = []
    for stage in recipe.stages if recipe else ():
        if stage.kind in seen:
            found.append(_as_new(stage))
        seen.add(stage.kind)
    return tuple(found)


def _as_new(stage: Stage) -> NewStage:
    materials = tuple(
        NewStageMaterial(NewProduct(m.product.name, m.product.kind, m.product.maker), m.lot, m.rate, m.unit)
        for m in stage.materials
    )
    return NewStage(stage.kind, dict(stage.params), materials)


def _set(stage: NewStage, fact: str, text: str) -> NewStage:
    kind = stages.kind(stage.kind)
    if fact in OF_PRODUCT and kind.product_kinds:
        first = (
            stage.materials[0]
            if stage.materials
            else NewStageMaterial(NewProduct("unknown", kind.product_kinds[0]))
        )
        return replace(stage, materials=(_use(first, fact, text, stage.kind), *stage.materials[1:]))
    params = {key: value for key, value in stage.params.items() if key != fact}
    if text.strip():
        params[fact] = kind.param(fact).read(text)
    elif fact not in stage.params:
        kind.param(fact)
    return replace(stage, params=params)


def _use(use: NewStageMaterial, fact: str, text: str, kind: str) -> NewStageMaterial:
    value = read_name(text.strip()) if text.strip() else None
    if fact == "product":
        return replace(use, product=NewProduct(value or "unknown", use.product.kind), lot=None)
    if fact == "maker":
        return replace(use, product=replace(use.product, maker=value))
    return replace(use, lot=value) if fact == "lot" else _rate(use, value, kind)


def _rate(use: NewStageMaterial, text: str | None, kind: str) -> NewStageMaterial:
    if text is None:
        return replace(use, rate=None, unit=None)
    with naming(f"{kind}.rate"):
        quantity = of.quantity if (of := stages.kind(kind).rate) else "coverage"
        if quantity == "dose":
            dose = units.read_dose(text)
            return replace(use, rate=float(dose.value), unit=dose.unit)
        powder = quantity == "spread"
        value = units.read_spread(text) if powder else units.read_coverage(text)
    return replace(use, rate=float(value), unit="lb/100 ft2" if powder else "ft2/gal")
